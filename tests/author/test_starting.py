import re

import pytest

from assistant.author.starting import CAUTION, Start, asked, group_of, written
from assistant.errors import ProcedureError
from assistant.procedure.load import parse_procedure
from assistant.procedure.review.table import review

GROUPS = (group_of("cover screws: 4, M6, 8.8, 8 N.m"), group_of("Cover-screws: 2, 9 N.m"))
WHOLE = Start(title='The "water" pump: off', about="x: y # z", cautions=("Let it: cool.",), groups=GROUPS)


@pytest.mark.parametrize("start", [WHOLE, Start(title="Pump", about="Off.")], ids=["groups", "bare"])
def test_a_starting_file_passes_its_check(start: Start) -> None:
    """What is written can be loaded, says what was answered, and has no finding."""
    text = written(start)
    procedure = parse_procedure(text, name="new.yaml")
    assert (procedure.procedure, procedure.about, procedure.cautions) == (
        start.title,
        start.about,
        start.cautions,
    )
    assert tuple(procedure.groups.values()) == start.groups
    assert [row for row in review(text, "new.yaml") if row.level != "advice"] == []


def test_what_waits_behind_a_hash_can_be_used() -> None:
    """With every # of an example taken away, the file still passes, with parts, tools, a wait and a measurement."""
    text = re.sub(
        r"^# ?(?=(parts|tools|  \w+ ?\w*):|  - step|    \w)", "", written(WHOLE), flags=re.MULTILINE
    )
    procedure = parse_procedure(text, name="new.yaml")
    assert [row for row in review(text, "new.yaml") if row.level != "advice"] == []
    assert {step.action for step in procedure.steps} == {"do", "tighten", "wait", "measure", "check"}
    assert (list(procedure.parts), list(procedure.tools)) == (["gasket"], ["locking pin"])


def test_a_whole_group_as_its_name_is_taken_and_a_dash_gives_one_up() -> None:
    """Who writes everything at the first question is understood, and no answer traps one in a group."""
    answers = iter(["Pump", "Off.", "", "cover screws: 4, M6, 8.8, 8 N.m", "cap: 3", "-", "lid", "-", ""])
    said: list[str] = []
    start = asked(lambda _question, _usual: next(answers), said.append)
    assert start.groups == GROUPS[:1]
    assert len(said) == 1


def test_what_cannot_be_is_asked_again() -> None:
    """A bare number and a slip of units are said and asked again; nothing that was answered before is lost."""
    answers = iter(
        [
            "",
            "Pump",
            "Off.",
            "",
            "cover screws",
            "4, M6, 8.8, 9",
            "4, M6, 8.8, 90 N.m",
            "4, M6, 8.8, 9 N.m",
            "",
        ]
    )
    said: list[str] = []
    start = asked(lambda _question, _usual: next(answers), said.append)
    assert start == Start(title="Pump", about="Off.", cautions=(CAUTION,), groups=(start.groups[0],))
    assert str(start.groups[0].stages[1].value) == "9 N.m"
    assert [
        words in text
        for words, text in zip(("give it a name", "bare number", "looks like"), said, strict=True)
    ]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("screws", "is no group"),
        ("screws: 4, M6, 8 N.m", "is no group"),
        ("screws: x, 8 N.m", "no whole number"),
    ],
)
def test_fasteners_that_cannot_be_are_refused(text: str, what: str) -> None:
    """A group in words that is not one is told with how to write it."""
    with pytest.raises(ProcedureError, match=what):
        group_of(text)
