"""What holds for every procedure and every talk, however it goes."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings

from assistant.dialogue.intents import Intent
from assistant.dialogue.manager import handle
from assistant.dialogue.modes import mode_of
from assistant.dialogue.phrasing import load_phrasebook
from assistant.dialogue.reply import Line, Reply
from assistant.job.closeout import open_items
from assistant.job.events import Entry, Event, Heard, JobOpened, Refused, Undone
from assistant.job.fold import fold, replay
from assistant.job.memory import MemoryStore
from assistant.job.state import JobState
from assistant.procedure.route import Route
from assistant.torque.ledger import Standing
from tests.dialogue.random_procedures import Said, routes, sensible, talks
from tests.dialogue.slow_account import account

BOOK = load_phrasebook()
START = datetime(2026, 3, 2, 8, tzinfo=UTC)
WORDS_A_SECOND, LONGEST_S, MOST_SENTENCES = 2.5, 20, 2

quick = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
thorough = settings(max_examples=600, deadline=None, suppress_health_check=[HealthCheck.too_slow])

Turned = tuple[JobState, JobState, tuple[Event, ...], Reply]
"""A turn: the state before and after it, what it recorded, and what was answered."""


def work(route: Route, talk: list[Said]) -> tuple[list[Turned], list[Entry]]:
    """Work a whole talk out from the beginning."""
    store, state, now, turns = MemoryStore(), JobState(), START, []
    opened = JobOpened(job="random", procedure="random", revision=1)
    for number, said in enumerate([[Intent(name="opened")], [Intent(name="yes")], *talk]):
        now += timedelta(minutes=7)
        intents = sensible(mode_of(route, state), said) if isinstance(said, int) else said
        names = tuple(intent.name for intent in intents)
        missed = names == ("not-understood",)
        first: JobOpened | Heard | Refused = (
            opened if number == 0 else Refused() if missed else Heard(words="", intents=names)
        )
        outcome = handle(route, state, intents, now, heard=first)
        before = state
        for entry in store.append(state.turn + 1, now, outcome.events):
            state = fold(state, entry)
        turns.append((before, state, outcome.events, outcome.reply))
    return turns, list(store.entries())


def _holds(route: Route, talk: list[Said]) -> None:
    """Check everything that holds always."""
    turns, entries = work(route, talk)
    state = turns[-1][1]
    assert replay(entries) == state
    for before, after, events, _ in turns:
        _final_stays(before, after, events)
    _gates_hold(route, state)
    assert _told(route, state) == account(route, entries)


def _final_stays(before: JobState, after: JobState, events: tuple[Event, ...]) -> None:
    """Check that what is final stays so, unless it was reopened, loosened, backed off, undone or marked."""
    kinds = {event.kind for event in events}
    let_go = {"undone", "position-reopened", "pass-reopened", "position-marked", "group-loosened"}
    let_go |= {"position-worked", "damage-mended"}
    for place, record in before.ledger.items():
        if record.standing is Standing.FINAL and after.ledger[place].standing is not Standing.FINAL:
            assert kinds & let_go


def _gates_hold(route: Route, state: JobState) -> None:
    """Nothing that rests on a gate is done and unsuspected unless the gate was answered with yes."""
    for gate in route.steps:
        if gate.check and not state.checks.get(gate.step):
            resting = [step.step for step in route.steps if route.rests(step.step, gate.step)]
            assert all(name in state.suspect for name in resting if name in state.done)


def _told(route: Route, state: JobState) -> set[tuple[str, ...]]:
    """Give the close-out list in the form of the slow account."""
    told: set[tuple[str, ...]] = set()
    for item in open_items(route, state):
        if item.kind == "position":
            told |= {("position", item.group, str(position)) for position in item.positions}
        elif item.kind in {"inside", "kit"}:
            told.add((item.kind, item.what))
        else:
            told.add((item.kind, item.step))
    return told


@quick
@given(routes(), talks())
def test_every_job_holds_together(route: Route, talk: list[Said]) -> None:
    """Nothing raises, the events give the state, final stays final, gates hold, and the close-out list is whole."""
    _holds(route, talk)


@pytest.mark.long
@thorough
@given(routes(), talks(120))
def test_every_long_job_holds_together(route: Route, talk: list[Said]) -> None:
    """The same for many more and longer talks."""
    _holds(route, talk)


ASKED_FOR_MORE = (
    *(
        "opened",
        "caution",
        "ask.caution",
        "help",
        "open.",
        "ask.close",
        "close.",
        "closed",
        "sequence",
        "torque.",
    ),
    *(
        "wrench",
        "adapter",
        "value.",
        "stand",
        "note",
        "verbatim",
        "returned",
        "resumed",
        "first-start",
        "undone",
    ),
    *("cautions", "count", "time", "reading", "worked", "recall", "stale"),
)
"""Beginnings of the keys of what may be longer: it was asked for, or it is a warning."""


def _lines(reply: Reply) -> Iterator[Line]:
    return (part for part in reply.parts if isinstance(part, Line))


@quick
@given(routes(), talks(30))
def test_replies_are_short(route: Route, talk: list[Said]) -> None:
    """What was not asked for takes no more than twenty seconds; an answer is a few short sentences."""
    for _, _, _, reply in work(route, talk)[0]:
        if any(line.key.startswith(ASKED_FOR_MORE) for line in _lines(reply)):
            continue
        words = BOOK.sentences(reply)
        assert len(words.split()) / WORDS_A_SECOND <= LONGEST_S, words


@quick
@given(routes(), talks(30))
def test_taking_back_gives_the_work_of_before(route: Route, talk: list[Said]) -> None:
    """After undo, what was done, worked and measured is as it was before the turn that was taken back."""
    turns, _ = work(route, [*talk, [Intent(name="undo")]])
    before, after, events, _ = turns[-1]
    if any(isinstance(event, Undone) for event in events):
        kept = before.pasts[-1].state
        assert (after.done, after.ledger, after.measured) == (kept.done, kept.ledger, kept.measured)
