"""From a YAML file to a Procedure, with every mistake told by file and line."""

from pathlib import Path
from typing import Final

from assistant.errors import ProcedureError, not_utf8
from assistant.paths import shipped
from assistant.procedure.check import findings
from assistant.procedure.expand import expanded
from assistant.procedure.model import Procedure
from assistant.procedure.yaml_text import Form, place

FORM: Final = Form(Procedure, ProcedureError, "a procedure", "begin it with procedure: and a title")
"""How a procedure is read."""


def load_procedure(path: Path) -> Procedure:
    """Read a procedure. Raises ProcedureError naming file and line, and what to write instead."""
    return parse_procedure(read_text(path), name=str(path))


def read_text(path: Path) -> str:
    """Read the text of a procedure's file. Raises ProcedureError where that is not possible."""
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise ProcedureError(
            "there is no such procedure",
            where=str(path),
            do=f"check the path, or name one of {', '.join(examples())}",
        ) from error
    except UnicodeDecodeError as error:
        what, do = not_utf8(error)
        raise ProcedureError(what, where=str(path), do=do or "give a YAML file") from error
    except OSError as error:
        what = f"this cannot be read ({error.strerror})"
        raise ProcedureError(what, where=str(path), do="give a YAML file that you may read") from error


def parse_procedure(text: str, *, name: str) -> Procedure:
    """Make a Procedure of YAML text; `name` is the file to name in a mistake."""
    data = expanded(FORM.read(text, name), name)
    procedure = FORM.fill(data, name)
    for finding in findings(procedure):
        raise ProcedureError(finding.what, where=place(data, finding.path, name), do=finding.do)
    return procedure


def examples() -> tuple[str, ...]:
    """Name the procedures that travel with the program."""
    return tuple(sorted(path.stem for path in shipped("procedures").glob("*.yaml")))


def find_procedure(named: str) -> Path:
    """Give the path that a user means: a file, or the name of a procedure that travels with the program."""
    path = Path(named)
    if not path.exists() and named in examples():
        return shipped("procedures") / f"{named}.yaml"
    return path
