import datetime as dt
import re

import pytest
from pydantic import BaseModel, ConfigDict

from assistant.errors import TorqueError
from assistant.procedure.yaml_text import Form, position_of
from assistant.torque.stages import Stage


class _Bench(BaseModel):
    model_config = ConfigDict(extra="forbid")

    name: str
    day: dt.date | None = None
    stages: tuple[Stage, ...] = ()


FORM = Form(_Bench, TorqueError, "a bench", "begin it with name:")

# The text, and what must be told about it: where, what is wrong, and what to write.
MISTAKES = [
    ("name: a\n\tday: x", "line 2, column 1", "a tab", "blanks"),
    ("name:\ta", "line 1, column 6", "a tab", "blanks"),
    (
        "name:a\nday: 2026-03-01",
        "line 1, column 5",
        "a blank is missing behind the colon",
        "a colon, a blank",
    ),
    ("name:\u00a0a\nday: 2026-03-01", "line 1, column 6", "looks like a blank", "space bar"),
    ("name: a\nstages:\n  - snug\n  -hand", "line 4, column 3", "behind the dash", "a dash, a blank"),
    ("name: 50 screws: all", "line 1, column 16", "a colon cannot stand here", "between quotes"),
    ("name a\nday: 2026-03-01", "line 1, column 1", "without its colon", "key: value"),
    ("name: *careful*", "line 1, column 7", "cannot begin with *", "between quotes"),
    ("name: @home", "line 1, column 7", "cannot begin with @", "between quotes"),
    ("name: >home", "line 1, column 8", "cannot begin with >", "between quotes"),
    ('name: "a\nday: 2026-03-01', "line 1, column 7", "a quote begins here", "close it"),
    ('name: "a" b', "line 1, column 11", "behind a closing quote", "quote all"),
    ('name: "C:\\home"', "line 1", "a backslash", "single quotes"),
    ("name: a\nstages: [snug\nday: 2026-03-01", "line 2, column 9", "a bracket is opened", "]"),
    ("name: a\n---\nname: b", "line 2, column 1", "a second procedure", "---"),
    ("name: " + "[" * 3000, "line 1", "deeper", "flatter"),
    ("name: 8", "line 1", "8 is not text", 'between quotes: "8"'),
    ("name: #8", "line 1", "nothing stands here", "between quotes"),
    ("name: [a]", "line 1", "a list stands where text belongs", "between quotes"),
    ("name: a\nstages: [{torque: 15,5 Nm}]", "line 2", "15 is a bare number", "15 N.m"),
    ("- 1", "line 1", "this is not a bench", "begin it with name:"),
    ("name: a\nname: b", "line 2, column 1", "the key name stands here twice", "rename it"),
    ("name: a\nday: \x07", "line 2", "character", ""),
    ("name: a\nday: 2026-13-01", "line 2", "day", "2026-03-31"),
    ("nmae: a", "line 1", "nmae is not known", "did you mean name?"),
    ("day: 2026-03-01", "line 1", "the key name is missing", "add the key name"),
    ("name: a\nstages:\n  - snug\n  - centre: 45", "line 4", "bare number", "such as 45 N.m"),
    ("name: a\nstages:\n  - {torque: 4 N.m, order: spiral}", "line 3", "order", "'crosswise'"),
    ("name: a\nstages:\n  - {torque: 4 N.m, order: [1, x]}", "line 3", "no whole number", "whole number"),
]


@pytest.mark.parametrize(("text", "line", "what", "advice"), MISTAKES)
def test_mistake_is_told_in_one_line(text: str, line: str, what: str, advice: str) -> None:
    """Each mistake is told with its line, what is wrong, and what to write, in the error of the room."""
    with pytest.raises(TorqueError) as caught:
        FORM.fill(FORM.read(text, "bench.yaml"), "bench.yaml")
    told = str(caught.value)
    assert re.match(rf"bench\.yaml, {line}(?:, column \d+)?: ", told)
    assert what in told
    assert advice in told
    assert "\n" not in told
    assert "function-" not in told


def test_date_is_read() -> None:
    """A date is read by the model, as any other value is."""
    bench = FORM.fill(FORM.read("name: a\nday: 2026-03-31", "bench.yaml"), "bench.yaml")
    assert bench.day == dt.date(2026, 3, 31)


def test_a_name_in_a_list_is_found_at_its_own_line() -> None:
    """Tools may be a list of names; what is wrong with one is told where it stands, and the unknown at the key."""
    data = FORM.read("name: a\ntools:\n  - pin\n  - plug\n", "x.yaml")
    assert position_of(data, ("tools", "plug")) == (4, 5)
    assert position_of(data, ("tools", "rag")) == (2, 1)
