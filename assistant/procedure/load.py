"""From a YAML file to a Procedure, with every mistake told by file and line.

ruamel.yaml keeps the line of every key, and pydantic says by which keys it came to a mistake;
this module brings the two together, so that an author is told where to look and what to write.
"""

from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails
from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.error import MarkedYAMLError

from assistant.errors import ProcedureError
from assistant.paths import shipped
from assistant.procedure.check import findings
from assistant.procedure.model import Procedure

_REMEDIES: Final = {
    "missing": "add the key {last}",
    "int_parsing": "write a whole number",
    "int_type": "write a whole number",
    "string_type": "write it as text",
    "tuple_type": "write a list",
    "bool_parsing": "write true or false",
    "string_pattern_mismatch": "use small letters, digits and hyphens, such as fit-gasket",
}
"""What to write instead, by pydantic's type of error; a validator of ours says so itself."""


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
    except (OSError, UnicodeDecodeError) as error:
        raise ProcedureError(
            "this is not a text file that can be read", where=str(path), do="give a YAML file"
        ) from error


def parse_procedure(text: str, *, name: str) -> Procedure:
    """Make a Procedure of YAML text; `name` is the file to name in a mistake."""
    data = _yaml(text, name)
    try:
        procedure = Procedure.model_validate(_plain(data))
    except ValidationError as error:
        detail = error.errors()[0]
        raise ProcedureError(
            _what(detail), where=f"{name}, line {_line(data, detail['loc'])}", do=_remedy(detail)
        ) from error
    for finding in findings(procedure):
        raise ProcedureError(finding.what, where=f"{name}, line {_line(data, finding.path)}", do=finding.do)
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


def _yaml(text: str, name: str) -> Any:
    try:
        data = YAML(typ="rt").load(text)
    except MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 1
        raise ProcedureError(
            f"this is not YAML: {error.problem}",
            where=f"{name}, line {line}",
            do="check indentation, quotes and colons",
        ) from error
    if not isinstance(data, dict):
        raise ProcedureError(
            "this is not a procedure", where=f"{name}, line 1", do="begin it with procedure: and a title"
        )
    return data


def _plain(value: Any) -> Any:
    """Turn ruamel's node types into plain ones, which pydantic judges by their own types."""
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item) for item in value]
    return value


def _line(data: Any, loc: tuple[str | int, ...]) -> int:
    """Follow the keys down as far as the file has them, and give the line (from 1) where they end."""
    line = 1
    for key in loc:
        if isinstance(data, CommentedMap) and key in data:
            line, data = data.lc.key(key)[0] + 1, data[key]
        elif isinstance(data, CommentedSeq) and isinstance(key, int) and key < len(data):
            line, data = data.lc.item(key)[0] + 1, data[key]
    return line


def _place(detail: ErrorDetails) -> str:
    return " > ".join(str(key) for key in detail["loc"] if isinstance(key, str))


def _what(detail: ErrorDetails) -> str:
    if detail["type"] == "extra_forbidden":
        return f"the key {detail['loc'][-1]} is not known here"
    message = detail["msg"].removeprefix("Value error, ").removeprefix("Assertion failed, ")
    return f"{_place(detail)}: {message}" if detail["loc"] else message


def _remedy(detail: ErrorDetails) -> str:
    if detail["type"] == "extra_forbidden":
        return _likely_key(detail["loc"])
    return _REMEDIES.get(detail["type"], "").format(last=detail["loc"][-1] if detail["loc"] else "")


def _likely_key(loc: tuple[str | int, ...]) -> str:
    """Propose the key that a misspelt one was probably meant to be."""
    known = _keys(Procedure, loc[:-1])
    close = get_close_matches(str(loc[-1]), known, n=1)
    return f"did you mean {close[0]}?" if close else f"known are {', '.join(sorted(known))}"


def _keys(model: type[BaseModel], loc: tuple[str | int, ...]) -> set[str]:
    """Name the keys of the model that stands at a path of keys."""
    for key in loc:
        if isinstance(key, str) and key in model.model_fields:
            model = _model_in(model.model_fields[key].annotation) or model
    return {field.alias or name for name, field in model.model_fields.items()}


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """Find the model inside an annotation such as tuple[Step, ...] or Mapping[str, Part]."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for inner in get_args(annotation) if (found := _model_in(inner))), None)
