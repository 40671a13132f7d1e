from typing import Any

import pytest

from assistant.job.events import (
    DamageMended,
    Event,
    GroupLoosened,
    PassReopened,
    PositionMarked,
    PositionReopened,
    PositionWorked,
)
from assistant.job.memory import MemoryStore
from assistant.procedure.load import find_procedure, load_procedure
from assistant.procedure.model import Procedure
from assistant.procedure.route import route_through
from assistant.record.done_over import DoneOver
from assistant.record.gather import gather
from assistant.record.model import Group
from assistant.record.render import draw_groups, render
from assistant.record.tables import fasteners, positions, remark
from assistant.record.words import size_words
from assistant.torque.ledger import Standing
from tests.record.sample import Script
from tests.talks.talk import Talk


def _opened(stages: list[Any]) -> Script:
    """Begin a job with one bolt that goes through these stages."""
    procedure = Procedure.model_validate(
        {
            "procedure": "Invented",
            "revision": 1,
            "about": "Invented.",
            "cautions": "None.",
            "groups": {"bolts": {"count": 1, "stages": stages}},
            "steps": [{"step": "tighten", "say": "Tighten.", "tighten": "bolts"}],
        }
    )
    script = Script(MemoryStore(), route_through(procedure))
    script.open()
    return script


@pytest.mark.parametrize(
    ("stages", "final"),
    [
        (["snug", {"torque": "25 N.m"}], ["25 N.m"]),
        ([{"torque": "60 N.m"}, {"angle": "90 deg"}, {"angle": "90 deg"}], ["60 N.m", "90 deg", "90 deg"]),
        ([{"torque": "15 lbf.ft"}, {"back_off": "1 turn"}, {"torque": "34 lbf.ft"}], ["34 lbf.ft"]),
        ([{"rise": "1/4 turn", "until": "18 lbf.ft", "rounds": 2}], ["18 lbf.ft"]),
        ([{"torque": "60 N.m"}, "check"], ["60 N.m"]),
        ([{"share": "50 %"}, {"torque": "25 N.m"}], ["25 N.m"]),
        ([{"torque": "60 N.m"}, {"angle": "90 deg"}], ["60 N.m", "90 deg"]),
        ([{"torque": "50 N.m"}, {"back_off": "1/2 turn"}, "hand"], ["hand-tight"]),
        ([{"torque": "50 N.m"}, {"back_off": "1/2 turn"}, "snug", {"angle": "60 deg"}], ["snug", "60 deg"]),
        ([{"torque": "50 N.m"}, {"back_off": "1 turn"}, {"rise": "1/4 turn", "until": "seated"}], ["seated"]),
        (["hand"], ["hand-tight"]),
    ],
)
def test_what_a_position_was_finished_with(stages: list[Any], final: list[str]) -> None:
    """Final is the last torque, or the word for it, and the angles after it; nothing from before a back-off."""
    script = _opened(stages)
    for number, act in enumerate(script.route.plans["bolts"]):
        script.add(PositionWorked(group="bolts", number=number, act=act))
    position = gather(script.route, tuple(script.store.entries())).groups[0].positions[0]
    assert position.state.standing == "final"
    assert [str(value) for value in position.final] == final


def test_what_was_mended_is_remarked_for_good() -> None:
    """Who reads the record of a finished group sees which thread has an insert."""
    script = _opened([{"torque": "25 N.m"}])
    script.add(PositionMarked(group="bolts", position=1, standing=Standing.DAMAGED, why="stripped"))
    script.add(DamageMended(group="bolts", position=1, remedy="thread insert", numbers=(0,), afresh=True))
    script.add(PositionWorked(group="bolts", number=0, act=script.route.plans["bolts"][0]))
    (row,) = gather(script.route, tuple(script.store.entries())).groups[0].positions
    assert (row.state.standing, remark(row)) == (Standing.FINAL, "stripped; thread insert")


def test_what_was_done_over_is_marked() -> None:
    """Of an act that was done twice the earlier one is marked, with why and since when, in each form of the record."""
    script = _opened(["snug", {"torque": "25 N.m"}])
    snug, torque = script.route.plans["bolts"]
    script.add(PositionWorked(group="bolts", number=0, act=snug))
    script.add(PositionWorked(group="bolts", number=1, act=torque))
    script.add(PassReopened(group="bolts", numbers=(1,), positions=(1,), because="tool"))
    began_again = script.now
    script.add(PositionWorked(group="bolts", number=1, act=torque))
    record = gather(script.route, tuple(script.store.entries()))
    first, earlier, later = record.groups[0].positions[0].works
    assert (first.done_over, later.done_over) == (None, None)
    assert earlier.done_over == DoneOver(why="the wrench was changed in the pass", at=began_again)
    told = "no longer counts: the wrench was changed in the pass, 2031-03-04 08:01:20"
    assert positions(record.groups[0]).rows[0][4].count(told) == 1
    assert [row[-2:] for row in fasteners(record).rows] == [
        ("", ""),
        ("the wrench was changed in the pass", "2031-03-04 08:01:20"),
        ("", ""),
    ]
    page = render(draw_groups(script.route, record), record)
    assert page.count("no longer counts") == 1


@pytest.mark.parametrize(
    ("event", "why"),
    [
        (PositionReopened(group="bolts", number=0, position=1), "it was to be done again"),
        (DamageMended(group="bolts", position=1, remedy="new bolt", numbers=(0,), afresh=True), "new bolt"),
        (GroupLoosened(group="bolts", step="tighten"), "the group was loosened again"),
    ],
)
def test_why_what_was_done_no_longer_counts(event: Event, why: str) -> None:
    """Whatever puts an act back to be done is named beside it, also before it was done again."""
    script = _opened(["snug"])
    script.add(PositionWorked(group="bolts", number=0, act=script.route.plans["bolts"][0]))
    script.add(event)
    (work,) = gather(script.route, tuple(script.store.entries())).groups[0].positions[0].works
    assert work.done_over is not None
    assert work.done_over.why == why


def test_a_nut_that_was_backed_off_is_written_down_as_the_voice_said_it() -> None:
    """The bearing nut of the trailer hub ends hand-tight in the talk, in the record and in its tables."""
    talk = Talk(route_through(load_procedure(find_procedure("trailer-hub")), "short"))
    talk.open()
    for said in ("yes", "yes", "done next", "done next", "done next", "done"):
        talk.say(said)
    talk.say("done")
    assert talk.answer.startswith("Left bearing nut. Final: hand-tight.")
    group = gather(talk.route, tuple(talk.store.entries())).groups[0]
    assert group.model_dump(mode="json")["positions"][0]["final"] == ["hand-tight"]
    assert Group.model_validate_json(group.model_dump_json()) == group
    assert positions(group).rows[0][2] == "hand-tight"
    assert size_words(group) == "1 position"
