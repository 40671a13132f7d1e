from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import chain
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.dialogue.intents import Intent
from assistant.dialogue.manager import handle
from assistant.dialogue.numbers import words_for
from assistant.dialogue.phrasing import load_phrasebook
from assistant.job.closeout import open_items
from assistant.job.events import Event, Measured, ReadingsReopened, ReadingTaken, Replied, Undone, WorkedOut
from assistant.job.fold import fold, replay
from assistant.job.memory import MemoryStore
from assistant.job.state import JobState
from assistant.procedure.load import load_procedure
from assistant.procedure.route import route_through
from assistant.torque.units import Quantity

BENCH = Path(__file__).parents[1] / "talks" / "bench"
ROUTE = route_through(load_procedure(BENCH / "plain-bearing.yaml"))
BOOK = load_phrasebook()
START = datetime(2026, 3, 2, 8, tzinfo=UTC)
GIVERS = {"bore": "bore", "shaft": "shaft", "gap": "gap", "shim": "shim", "running clearance": "clearance"}

LENGTHS = st.one_of(
    st.integers(24950, 25080).map(lambda um: Decimal(um) / 1000),
    st.integers(0, 600).map(lambda um: Decimal(um) / 1000),
)
MEASURED = st.tuples(LENGTHS.map(words_for), st.sampled_from([None, None, "millimetres", "turns"])).map(
    lambda pair: Intent(name="measured", slots={"value": pair[0]} | ({"unit": pair[1]} if pair[1] else {}))
)
NAMED = st.sampled_from([*GIVERS, "nothing of the kind"]).map(
    lambda name: Intent(name="value-of", slots={"name": name})
)
PLAIN = st.sampled_from(
    [
        *("yes", "yes", "yes", "done", "next", "next", "back", "back", "no", "undo", "reading"),
        *("how-so", "value-of", "open", "where", "repeat", "returned", "cancel", "skip", "last"),
    ]
).map(lambda name: Intent(name=name))
REASON = st.just(Intent(name="reason", slots={"reason": "on instruction"}))
AGAIN = st.tuples(
    st.sampled_from(["one", "two", "four"]), LENGTHS, st.sampled_from(["next", "done", "undo"])
).map(
    lambda drawn: [
        Intent(name="go-to", slots={"step": drawn[0]}),
        Intent(name="measured", slots={"value": words_for(drawn[1])}),
        Intent(name="yes"),
        Intent(name=drawn[2]),
    ]
)
UTTERANCES = st.one_of(MEASURED, MEASURED, PLAIN, PLAIN, PLAIN, NAMED, REASON)


def said(value: str) -> list[Intent]:
    """Measure a value and confirm it."""
    return [Intent(name="measured", slots={"value": value}), Intent(name="yes"), Intent(name="next")]


WELL_UNDER_WAY = [
    *said("twenty five point zero three")[:2] * 3,
    Intent(name="next"),
    *said("twenty four point nine nine"),
    Intent(name="done"),
    Intent(name="next"),
    *said("point one nine"),
    Intent(name="done"),
    Intent(name="back"),
]
"""The bearing is measured, its clearance worked out and the shim chosen; it stands at the gap again."""


def work(talk: list[Intent]) -> tuple[JobState, MemoryStore]:
    """Work a talk out, intent by intent, keeping every event; every reply is put into words."""
    store, state, now = MemoryStore(), JobState(), START
    for intent in [Intent(name="opened"), Intent(name="yes"), *talk]:
        now += timedelta(minutes=1)
        outcome = handle(ROUTE, state, [intent], now)
        words = BOOK.sentences(outcome.reply)
        said: tuple[Event, ...] = (Replied(words=words),) if words else ()
        for entry in store.append(state.turn + 1, now, (*outcome.events, *said)):
            state = fold(state, entry)
    return state, store


@settings(max_examples=150)
@given(st.lists(UTTERANCES, max_size=50))
def test_no_talk_about_values_raises_and_replay_gives_the_same(talk: list[Intent]) -> None:
    """Whatever is measured, asked, taken back or worked out, in whatever order."""
    state, store = work(talk)
    assert replay(store.entries()) == state


def kept_account(store: MemoryStore) -> dict[str, Measured | WorkedOut]:
    """Keep a second, slow account: the last value of each step, of the turns that were not taken back."""
    entries = list(store.entries())
    back = {entry.event.turn for entry in entries if isinstance(entry.event, Undone)}
    values: dict[str, Measured | WorkedOut] = {}
    for entry in entries:
        if entry.turn not in back and isinstance(entry.event, Measured | WorkedOut):
            values[entry.event.step] = entry.event
    return values


@settings(max_examples=150)
@given(st.lists(st.one_of(UTTERANCES.map(lambda one: [one]), AGAIN), max_size=30))
def test_what_no_longer_holds_is_what_a_second_account_finds(talk: list[list[Intent]]) -> None:
    """A value is told as stale just where one of its numbers is not what it was, at first or second hand."""
    state, store = work([*WELL_UNDER_WAY, *chain.from_iterable(talk)])
    values = kept_account(store)
    stale: set[str] = set()
    for step in ("bore", "shaft", "clearance", "gap", "shim", "back-off"):
        inputs = values[step].inputs if step in values else {}
        givers = {name: GIVERS.get(name, "adjuster") for name in inputs}
        if any(
            giver not in values or giver in stale or values[giver].stands_for != inputs[name]
            for name, giver in givers.items()
        ):
            stale.add(step)
    assert {item.step for item in open_items(ROUTE, state) if item.kind == "stale"} == stale
    assert not stale & state.done


@settings(max_examples=150)
@given(st.lists(UTTERANCES, max_size=60))
def test_mean_of_readings_is_kept_exactly(talk: list[Intent]) -> None:
    """Every value of several readings is their mean, and has as many as the author wants at least."""
    _, store = work(talk)
    for entry in store.entries():
        if isinstance(entry.event, Measured) and entry.event.readings:
            exact = [reading.exact(entry.event.value.unit) for reading in entry.event.readings]
            mean = sum(exact, Fraction()) / len(exact)
            assert abs(entry.event.value.exact(entry.event.value.unit) - mean) < Fraction(1, 10**20)
            assert len(exact) >= (3 if entry.event.step == "bore" else 2)


@given(st.lists(st.sampled_from(["yes", "no", "done", "next", "reading"]), max_size=20))
def test_nothing_is_kept_that_was_not_confirmed(names: list[str]) -> None:
    """Without a value said and a yes to it, there is none."""
    _, store = work([Intent(name=name) for name in names])
    kinds = (Measured, WorkedOut, ReadingTaken, ReadingsReopened)
    assert not any(isinstance(entry.event, kinds) for entry in store.entries())


def test_unit_that_is_left_out_is_the_authors() -> None:
    """Point zero three, said to a step in millimetres, is in millimetres."""
    state, _ = work(
        [
            *(Intent(name="measured", slots={"value": "twenty five point zero three"}), Intent(name="yes"))
            * 3,
        ]
    )
    assert state.measured["bore"].value == Quantity(value=Decimal("25.03"), unit="mm")
