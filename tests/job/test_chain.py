"""Events as rows, and rows as events again."""

import json
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.job import chain
from assistant.job.events import Event, OpenAccepted, PositionMarked, Replied, StepSkipped, TimerStarted
from assistant.torque.ledger import Standing

AT = datetime(2024, 5, 6, 7, 8, 9, tzinfo=UTC)


@given(words=st.lists(st.text(), max_size=5), seconds=st.floats(allow_nan=False, allow_infinity=False))
def test_any_words_and_numbers_come_back(words: list[str], seconds: float) -> None:
    """Whatever was heard or counted is read from its row to the letter and the last bit."""
    events: list[Event] = [*(Replied(words=said) for said in words), TimerStarted(step="s", seconds=seconds)]
    rows, entries = chain.follow(chain.START, 1, AT, events)
    assert [chain.entry(row).event for row in rows] == events
    assert tuple(map(chain.entry, rows)) == entries


@given(at=st.datetimes(timezones=st.timezones()))
def test_any_moment_comes_back(at: datetime) -> None:
    """A time in any zone is kept as the same moment, in a text that sorts as time does."""
    (row,), (entry,) = chain.follow(chain.START, 1, at, [Replied(words="x")])
    assert entry.at == at.astimezone(UTC)
    assert len(row.at) == len("2024-05-06T07:08:09.000000+00:00")
    assert row.at.endswith("+00:00")


def test_text_that_moves_between_columns_changes_the_hash() -> None:
    """Two rows whose columns run together to the same text have different hashes."""
    first, second = chain._hash((1, 11, "a", "b")), chain._hash((11, 1, "a", "b"))
    third, fourth = chain._hash(("ab", "c")), chain._hash(("a", "bc"))
    assert len({first, second, third, fourth}) == 4


def test_the_walk_names_exchanged_rows() -> None:
    """Rows in another order break the chain at the first of them."""
    rows, _ = chain.follow(chain.START, 1, AT, [Replied(words=word) for word in "abcd"])
    assert [fault for _, fault in chain.broken(rows)] == [None] * 4
    exchanged = [rows[0], rows[2], rows[1], rows[3]]
    assert next(fault for _, fault in chain.broken(exchanged) if fault is not None) == 2


OLD = [
    ("job-opened", {"job": "a", "procedure": "b", "revision": 1, "demonstration": True, "route": "short"}),
    ("job-taken-up", {}),
    ("note-begun", {"note": 1, "file": "note-0001.flac", "step": "make-safe"}),
    ("note-ended", {"note": 1, "seconds": 4.5}),
]
"""Bodies as the first version of this program wrote them, before notes said what they are for."""


@pytest.mark.parametrize(("kind", "body"), OLD)
def test_bodies_of_the_first_version_are_still_read(kind: str, body: dict[str, object]) -> None:
    """What was recorded before a kind had its newer fields reads as it did, with those fields at their usual."""
    kept = (1, 1, "2026-03-02T08:00:00.000000+00:00", kind, 1, json.dumps(body), chain.START.hash)
    event = chain.entry(chain.Row(*kept, hash="")).event
    assert {name: getattr(event, name) for name in body} == body
    assert chain.current_version(kind) == 1


REWORDED = [
    (
        PositionMarked(group="cover", position=2, standing=Standing.UNTOUCHED, why="said to be sound"),
        {"group": "cover", "position": 2, "standing": "empty", "why": "said to be sound"},
    ),
    (
        OpenAccepted(item="position at close-up (cover 1, 2: not touched)", reason="tomorrow"),
        {"item": "position at close-up (cover 1, 2: empty)", "reason": "tomorrow"},
    ),
    (
        StepSkipped(step="pins", reason="on instruction, anna"),
        {"step": "pins", "reason": "on instruction", "by": "anna"},
    ),
    (StepSkipped(step="pins", reason="part missing"), {"step": "pins", "reason": "part missing", "by": ""}),
]


@pytest.mark.parametrize(("event", "body"), REWORDED)
def test_what_was_kept_in_other_words_is_read_in_those_of_now(event: Event, body: dict[str, object]) -> None:
    """What a position that is not touched was called, and where it stood who asked for a step to be left out."""
    kept = (1, 1, AT.isoformat(), event.kind, 1, json.dumps(body), chain.START.hash)
    row = chain.Row(*kept, hash=chain._hash(kept))
    assert chain.entry(row).event == event
    assert next(chain.broken([row])) == (row, None)
