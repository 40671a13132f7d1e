from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.dialogue.intents import SPOKEN, UNSPOKEN, Intent
from assistant.dialogue.manager import BESIDE_A_QUESTION, HANDLERS, REMINDED, WORK, handle
from assistant.dialogue.modes import mode_of
from assistant.dialogue.phrasing import load_phrasebook
from assistant.hearing.grammar import modes
from assistant.job.events import Event, Heard, JobOpened, Refused, Replied
from assistant.job.fold import fold, replay
from assistant.job.memory import MemoryStore
from assistant.job.state import JobState
from assistant.procedure.load import find_procedure, load_procedure
from assistant.procedure.route import route_through

ROUTE = route_through(load_procedure(find_procedure("generator-set-head")), "short")
MODES = modes()
BOOK = load_phrasebook()
START = datetime(2026, 3, 2, 8, tzinfo=UTC)

THINGS = st.sampled_from(["bravo seven", "loose part", "rocker cover", "head gasket"])
SLOTS = {
    "position-done": st.sampled_from(["one", "two", "three", "four", "nine"]).map(lambda n: {"position": n}),
    "measured": st.sampled_from(
        [
            {"value": "point two five", "unit": "millimetres"},
            {"value": "point nine"},
            {"value": "five", "unit": "newton metres"},
            {"value": "two", "unit": "thou"},
        ]
    ),
    "correct": st.sampled_from(["one", "four", "nine"]).map(lambda n: {"position": n}),
    "position-again": st.sampled_from(["one", "four", "nine"]).map(lambda n: {"position": n}),
    "mark": st.tuples(
        st.sampled_from(["two", "nine"]), st.sampled_from(["doubtful", "damaged", "sound"])
    ).map(lambda pair: {"position": pair[0], "standing": pair[1]}),
    "in-unit": st.sampled_from(["inch pounds", "newton metres"]).map(lambda unit: {"unit": unit}),
    "go-to": st.sampled_from(["one", "three", "nine", "forty"]).map(lambda n: {"step": n}),
    "reopen": st.sampled_from(["one", "two", "three", "five", "six"]).map(lambda n: {"step": n}),
    **dict.fromkeys(["off", "put"], st.builds(lambda thing: {"thing": thing, "spot": "tray two"}, THINGS)),
    **dict.fromkeys(
        ["put-back", "where-is", "label", "what-is", "fitted", "reuse", "kit-left"],
        st.builds(lambda thing: {"thing": thing}, THINGS),
    ),
    "applied": st.sampled_from([{}, {"supply": "engine oil"}]),
    **dict.fromkeys(["tool-in", "tool-out"], st.just({"tool": "locking pin"})),
    "reason": st.sampled_from(["do it later", "damaged"]).map(lambda reason: {"reason": reason}),
}
TALKED = sorted(set(SPOKEN) | {"tick", "not-understood", "returned"})


@st.composite
def utterances(draw: st.DrawFn) -> list[Intent]:
    """Draw what one utterance may mean: up to three intents, likely ones more often."""
    likely = st.sampled_from(["done", "next", "yes", "no", "all-done"])
    names = draw(st.lists(st.one_of(likely, likely, st.sampled_from(TALKED)), min_size=1, max_size=3))
    return [Intent(name=name, slots=draw(SLOTS.get(name, st.just({})))) for name in names]


def work(talk: list[list[Intent]]) -> tuple[JobState, MemoryStore]:
    """Work a whole talk out from the beginning, keeping every event."""
    store, state, now = MemoryStore(), JobState(), START
    opened = JobOpened(job="random", procedure="random", revision=1, route="short")
    for number, intents in enumerate([[Intent(name="opened")], *talk]):
        now += timedelta(minutes=7)
        names = tuple(intent.name for intent in intents)
        first: JobOpened | Heard | Refused = (
            opened
            if number == 0
            else Refused()
            if names == ("not-understood",)
            else Heard(words="", intents=names)
        )
        outcome = handle(ROUTE, state, intents, now, heard=first)
        words = BOOK.sentences(outcome.reply)
        said: tuple[Event, ...] = (Replied(words=words, passing=outcome.reply.passing),) if words else ()
        for entry in store.append(state.turn + 1, now, (*outcome.events, *said)):
            state = fold(state, entry)
        assert mode_of(ROUTE, state) in MODES
    return state, store


@settings(max_examples=150)
@given(st.lists(utterances(), max_size=40))
def test_no_talk_raises_and_replay_gives_the_same_state(talk: list[list[Intent]]) -> None:
    """Whatever is said in whatever order, nothing raises, and the events alone give the state."""
    state, store = work(talk)
    assert replay(store.entries()) == state


@settings(max_examples=100)
@given(st.lists(utterances(), max_size=40))
def test_no_work_counts_before_the_opening_cautions_are_answered(talk: list[list[Intent]]) -> None:
    """Until somebody says yes to the opening cautions, nothing is recorded as done."""
    silent = [[intent for intent in intents if intent.name != "yes"] for intents in talk]
    state, _ = work([intents for intents in silent if intents])
    assert not state.done
    assert not state.ledger


@settings(max_examples=100)
@given(st.lists(utterances(), max_size=60))
def test_gate_is_never_passed_unanswered(talk: list[list[Intent]]) -> None:
    """No step after a gate is done, or it is suspect, unless the gate was answered with yes."""
    state, _ = work([[Intent(name="yes")], [Intent(name="yes")], *talk])
    for place, step in enumerate(ROUTE.steps):
        if step.check and not state.checks.get(step.step):
            later = ROUTE.steps[place + 1 :]
            assert all(each.step in state.suspect for each in later if each.step in state.done)


def test_every_intent_has_a_handler() -> None:
    """The table of handlers and the list of intents are the same."""
    assert set(HANDLERS) == set(SPOKEN) | set(UNSPOKEN)


def test_sets_of_intents_name_intents() -> None:
    """The sets that rule over questions name no intent that does not exist."""
    assert set(HANDLERS) >= BESIDE_A_QUESTION | REMINDED | WORK


@pytest.mark.parametrize("intent", sorted(WORK))
def test_nothing_is_done_at_a_step_before_its_severe_caution_is_answered(intent: str) -> None:
    """Work that is said to be done at a step with an unanswered severe caution brings the caution again."""
    state = JobState()
    for talk in ([Intent(name="opened")], [Intent(name="yes")], [Intent(name="cancel")]):
        outcome = handle(ROUTE, state, talk, START)
        state = outcome.state
    slots = {
        "position-done": {"position": "one"},
        "correct": {"position": "one"},
        "measured": {"value": "one"},
    }.get(intent, {})
    outcome = handle(ROUTE, state, [Intent(name=intent, slots=slots)], START)
    assert "Caution" in BOOK.sentences(outcome.reply)
    assert not outcome.state.done


@pytest.mark.parametrize("ends", [Intent(name="note-end"), Intent(name="note-over", slots={"seconds": "9"})])
def test_a_spoken_reason_answers_when_its_note_is_over(ends: Intent) -> None:
    """End words and silence alike give the note as the reason; until then the question waits."""
    skip = [[Intent(name="yes")], [Intent(name="yes")], [Intent(name="skip")]]
    spoken = [Intent(name="reason", slots={"reason": "other reason"})]
    waiting, _ = work([*skip, spoken])
    assert waiting.question is not None
    assert (mode_of(ROUTE, waiting), waiting.question.name) == ("note", "skip-reason")
    done, _ = work([*skip, spoken, [ends], [Intent(name="yes")]])
    assert done.skipped == {ROUTE.steps[0].step: "as said in note one"}
