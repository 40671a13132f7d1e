"""The finders in one table, and the rows that `callout check` prints."""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final, Literal

from assistant.errors import AssistantError
from assistant.procedure import check
from assistant.procedure.expand import expanded
from assistant.procedure.finding import Finding
from assistant.procedure.load import FORM
from assistant.procedure.model import Procedure
from assistant.procedure.review import course, fasteners, hazards, things
from assistant.procedure.review.blocks import idle_subs, unfilled
from assistant.procedure.review.ways import Looked, looked_at
from assistant.procedure.yaml_text import position_of

Level = Literal["error", "finding", "advice"]
"""An error cannot be loaded; a finding loads and is wrong or dangerous; advice may be meant so."""

Weighed = tuple[Finding, Level]

Finder = Callable[[Looked], Iterable[Finding]]

FINDERS: Final[tuple[tuple[Finder, Level], ...]] = (
    (fasteners.doubted, "finding"),
    (fasteners.unlike_units, "finding"),
    (fasteners.unused, "finding"),
    (fasteners.unfinished, "finding"),
    (fasteners.out_of_turn, "finding"),
    (things.left_inside, "finding"),
    (things.out_unasked, "finding"),
    (things.uncounted_openings, "finding"),
    (things.unused_parts, "finding"),
    (things.used_twice, "finding"),
    (things.reused, "finding"),
    (course.never_up, "finding"),
    (course.gates_passed, "finding"),
    (course.waits_without_end, "finding"),
    (course.strangers, "finding"),
    (unfilled, "finding"),
    (course.backward_routes, "finding"),
    (hazards.untold, "finding"),
    (course.half_decided, "advice"),
    (course.idle_decisions, "advice"),
    (course.gates_left_out, "advice"),
    (things.idle_tools, "advice"),
    (things.kept_off, "advice"),
    (fasteners.by_feel_only, "advice"),
    (fasteners.not_judged, "advice"),
)


@dataclass(frozen=True, kw_only=True)
class Row:
    """One finding: where it is (the step "" outside the steps), what is wrong, and how to mend it."""

    file: str
    line: int
    column: int
    step: str
    level: Level
    what: str
    do: str

    def __str__(self) -> str:
        step = f"{self.step}: " if self.step and self.step not in self.what else ""
        place = f"{self.file}:{self.line}:{self.column}"
        return f"{place}: {self.level}: {step}{self.what}{f'; {self.do}' if self.do else ''}"


def review(
    text: str, name: str, more: Iterable[Callable[[Procedure], Iterable[Weighed]]] = ()
) -> tuple[Row, ...]:
    """Give everything that is wrong with a procedure's text, in the order of the file.

    What cannot be read is told alone, and mistakes of names before what is looked for in what loads. `more`
    are finders of rooms above this one, such as those that know how names sound.
    """
    try:
        written = FORM.read(text, name)
        data = expanded(written, name)
    except AssistantError as error:
        return (_of_error(error, name),)
    if errors := FORM.mistakes(data) or check.findings(procedure := FORM.fill(data, name)):
        return _rows(data, name, ((found, "error") for found in errors))
    looked = looked_at(procedure)
    here = ((found, level) for finder, level in FINDERS for found in finder(looked))
    there = (each for finder in more for each in finder(procedure))
    subs = _rows(written, name, ((found, "finding") for found in idle_subs(written)))
    return _in_order((*_rows(data, name, (*here, *there)), *subs))


def _rows(data: Any, name: str, found: Iterable[Weighed]) -> tuple[Row, ...]:
    rows = (_row(data, name, each, level) for each, level in found)
    return _in_order(rows)


def _in_order(rows: Iterable[Row]) -> tuple[Row, ...]:
    """Give the rows in the order of the file, each once."""
    return tuple(sorted(dict.fromkeys(rows), key=lambda row: (row.line, row.column)))


def _row(data: Any, name: str, found: Finding, level: Level) -> Row:
    (line, column), step = position_of(data, found.path), "".join(_step_in(data, found.path))
    return Row(file=name, line=line, column=column, step=step, level=level, what=found.what, do=found.do)


def _step_in(data: Any, path: tuple[str | int, ...]) -> Iterator[str]:
    match path:
        case ("steps", int(number), *_) if isinstance(data["steps"][number], dict):
            yield str(data["steps"][number].get("step", ""))


def _of_error(error: AssistantError, name: str) -> Row:
    at = re.search(r"line (\d+)(?:, column (\d+))?$", error.where)
    line, column = (int(at[1]), int(at[2] or 1)) if at else (1, 1)
    return Row(file=name, line=line, column=column, step="", level="error", what=error.what, do=error.do)
