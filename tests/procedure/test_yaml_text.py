import datetime as dt

import pytest
from pydantic import BaseModel, ConfigDict

from assistant.errors import TorqueError
from assistant.procedure.yaml_text import Form
from assistant.torque.stages import Stage


class _Bench(BaseModel):
    model_config = ConfigDict(extra="forbid")

    name: str
    day: dt.date | None = None
    stages: tuple[Stage, ...] = ()


FORM = Form(_Bench, TorqueError, "a bench", "begin it with name:")

# The text, and what must be told about it: where, what is wrong, and what to write.
MISTAKES = [
    ("- 1", "line 1", "this is not a bench", "begin it with name:"),
    ("name: a\nname: b", "line 2", "duplicate key", ""),
    ("name: a\nday: \x07", "line 2", "character", ""),
    ("name: a\nday: 2026-13-01", "line 2", "day", "2026-03-31"),
    ("nmae: a", "line 1", "nmae is not known", "did you mean name?"),
    ("day: 2026-03-01", "line 1", "required", "add the key name"),
    ("name: a\nstages:\n  - snug\n  - centre: 45", "line 4", "bare number", "such as 45 N.m"),
    ("name: a\nstages:\n  - {torque: 4 N.m, order: spiral}", "line 3", "order", "'crosswise'"),
    ("name: a\nstages:\n  - {torque: 4 N.m, order: [1, x]}", "line 3", "integer", "whole number"),
]


@pytest.mark.parametrize(("text", "line", "what", "advice"), MISTAKES)
def test_mistake_is_told_in_one_line(text: str, line: str, what: str, advice: str) -> None:
    """Each mistake is told with its line, what is wrong, and what to write, in the error of the room."""
    with pytest.raises(TorqueError) as caught:
        FORM.fill(FORM.read(text, "bench.yaml"), "bench.yaml")
    told = str(caught.value)
    assert told.startswith(f"bench.yaml, {line}: ")
    assert what in told
    assert advice in told
    assert "\n" not in told
    assert "function-" not in told


def test_date_is_read() -> None:
    """A date is read by the model, as any other value is."""
    bench = FORM.fill(FORM.read("name: a\nday: 2026-03-31", "bench.yaml"), "bench.yaml")
    assert bench.day == dt.date(2026, 3, 31)
