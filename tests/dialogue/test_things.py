"""Random talk about parts, kit, supplies and tools, held against a second, slow account of the same talk."""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.dialogue.intents import Intent
from assistant.dialogue.manager import handle
from assistant.dialogue.modes import mode_of
from assistant.dialogue.names import name_in
from assistant.dialogue.phrasing import load_phrasebook
from assistant.job.closeout import open_items
from assistant.job.events import (
    Entry,
    Event,
    Heard,
    JobOpened,
    LabelGiven,
    PartPlaced,
    PartRemoved,
    PartReturned,
    ToolMoved,
    Undone,
)
from assistant.job.fold import fold, replay
from assistant.job.memory import MemoryStore
from assistant.job.state import JobState
from assistant.procedure.load import load_procedure
from assistant.procedure.route import route_through

ROUTE = route_through(load_procedure(Path(__file__).parents[1] / "talks" / "bench" / "top-end.yaml"))
BOOK = load_phrasebook()

THINGS = st.sampled_from(
    [
        "rocker cover",
        "intake push rod front",
        "exhaust push rod front",
        "bravo seven",
        "kilo two",
        "loose part",
    ]
)
SPOTS = st.sampled_from(["tray one", "tray one slot two", "bag four"])
KIT = st.sampled_from(["o ring", "cover gasket"])


def _said(name: str, **slots: st.SearchStrategy[str]) -> st.SearchStrategy[Intent]:
    return st.fixed_dictionaries(dict(slots)).map(lambda made: Intent(name=name, slots=made))


TALK = st.one_of(
    st.sampled_from(
        ["done", "next", "yes", "no", "all-done", "undo", "cancel", "note-end", "applied", "back"]
    ).map(lambda name: Intent(name=name)),
    _said("off", thing=THINGS),
    _said("off", thing=THINGS, spot=SPOTS),
    _said("put", thing=THINGS, spot=SPOTS),
    _said("put-back", thing=THINGS),
    _said("where-is", thing=THINGS),
    _said("label", thing=st.sampled_from(["bravo seven", "kilo two"])),
    _said("what-is", thing=st.sampled_from(["bravo seven", "kilo two"])),
    _said("fitted", thing=KIT),
    _said("reuse", thing=KIT),
    _said("kit-left", thing=KIT),
    _said("applied", supply=st.sampled_from(["engine oil", "sealant", "threadlocker"])),
    _said("tool-in", tool=st.sampled_from(["rag", "locking pin"])),
    _said("tool-out", tool=st.sampled_from(["rag", "locking pin"])),
    _said("reason", reason=st.sampled_from(["damaged", "marked end up", "one dot"])),
    _said("reopen", step=st.sampled_from(["one", "two", "five"])),
    st.just(Intent(name="inside")),
    st.just(Intent(name="open")),
)


def work(talk: Sequence[Intent]) -> tuple[JobState, tuple[Entry, ...], list[str]]:
    """Work a talk out; gives the state, what was kept, and what was answered."""
    store, state, now, answers = MemoryStore(), JobState(), datetime(2026, 3, 2, 8, tzinfo=UTC), []
    opened = JobOpened(job="random", procedure="random", revision=1)
    for intent in (Intent(name="opened"), Intent(name="yes"), *talk):
        now += timedelta(minutes=1)
        first = opened if intent.name == "opened" else Heard(words="", intents=(intent.name,))
        outcome = handle(ROUTE, state, (intent,), now, heard=first)
        answers.append(BOOK.sentences(outcome.reply))
        for entry in store.append(state.turn + 1, now, outcome.events):
            state = fold(state, entry)
        mode_of(ROUTE, state)
    return state, tuple(store.entries()), answers


def counting(entries: Iterable[Entry]) -> list[Event]:
    """Give the events whose turn was not taken back later, the slow way."""
    kept: list[Entry] = []
    for entry in entries:
        if isinstance(entry.event, Undone):
            gone = entry.event.turn
            kept = [other for other in kept if other.turn != gone]
        else:
            kept.append(entry)
    return [entry.event for entry in kept]


@settings(max_examples=80)
@given(st.lists(TALK, max_size=50))
def test_no_talk_of_things_raises_and_replay_gives_the_same_state(talk: list[Intent]) -> None:
    """Whatever is said in whatever order, there is an answer, and the journal holds all that is known."""
    state, entries, _ = work(talk)
    assert replay(entries) == state


@settings(max_examples=80)
@given(st.lists(TALK, max_size=50))
def test_what_is_inside_and_what_is_off_is_what_a_slow_account_says(talk: list[Intent]) -> None:
    """Close-out lists just the tools that went in and did not come out, and the parts that are not back."""
    state, entries, _ = work(talk)
    inside: Counter[str] = Counter()
    off: dict[str, str] = {}
    for event in counting(entries):
        if isinstance(event, ToolMoved):
            inside[event.tool] = max(0, inside[event.tool] + (1 if event.inside else -1))
        elif isinstance(event, PartRemoved | PartPlaced):
            came_here = off.get(event.thing, "nowhere yet") != event.place
            off = {
                thing: place
                for thing, place in off.items()
                if not (came_here and thing.startswith("loose part in") and place == event.place)
            } | {event.thing: event.place}
        elif isinstance(event, LabelGiven):
            off.setdefault(event.label, "")
        elif isinstance(event, PartReturned):
            off.pop(event.thing, None)
    items = open_items(ROUTE, state)
    assert {item.what: item.count for item in items if item.kind == "inside"} == dict(+inside)
    told = {thing for item in items if item.kind == "off" for thing in item.things}
    told |= {f"loose part in {item.what}" for item in items if item.kind == "unlabelled"}
    assert told == set(off)


@settings(max_examples=40)
@given(st.lists(TALK, max_size=40))
def test_no_step_fits_more_of_a_part_than_it_wants_unless_it_was_said(talk: list[Intent]) -> None:
    """What was said to be fitted is not counted again when its step is done."""
    state, entries, _ = work([each for each in talk if each.name != "fitted"])
    used: Counter[tuple[str, str]] = Counter()
    for event in counting(entries):
        if event.kind == "part-used":
            used[event.step, event.part] += 1
    for (step, part), count in used.items():
        assert count <= ROUTE.step(step).use.count(part)
    assert state.turn > 0


def test_a_loose_part_beside_a_labelled_one_is_not_lost_when_the_label_is_said_again() -> None:
    """What lies in a place already is not the part without a label that came there after it."""
    beside = {"thing": "loose part", "spot": "tray one slot two"}
    first = Intent(name="put", slots={"thing": "kilo two", "spot": "tray one slot two"})
    again = Intent(name="label", slots={"thing": "kilo two"})
    state, _, _ = work([first, Intent(name="put", slots=beside), again])
    assert set(state.off) == {"kilo two", "loose part in tray one slot two"}


def test_names_are_found_however_they_are_spelled() -> None:
    """A hyphen, a capital letter or a figure in the procedure is no other name when it is said."""
    assert name_in(["O-ring", "rod 2"], "o ring") == "O-ring"
    assert name_in(["O-ring", "rod 2"], "rod two") == "rod 2"
    assert name_in(["O-ring"], "bravo seven") == "bravo seven"
