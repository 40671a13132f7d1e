"""Random procedures, random talk over them, and a driver that keeps every turn of such a talk."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import strategies as st

from assistant.dialogue.intents import SPOKEN, Intent
from assistant.dialogue.manager import Outcome, handle
from assistant.dialogue.phrasing import load_phrasebook
from assistant.dialogue.questions import QUESTIONS
from assistant.job.events import Entry, Event, Heard, JobOpened, Refused, Replied
from assistant.job.fold import fold
from assistant.job.memory import MemoryStore
from assistant.job.state import JobState
from assistant.job.way import open_steps
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import Route, route_through

BOOK = load_phrasebook()
PEOPLE = ("anna", "bert")
REASONS = ("do it later", "part missing", "on instruction", "damaged", "other reason")
REMEDIES = ("new bolt", "left as it is")

LAST_STAGES: tuple[list[Any], ...] = (
    [{"torque": "20 N.m"}],
    ["snug", {"torque": "20 N.m"}],
    [{"torque": "10 N.m"}, {"angle": "90 deg"}],
    [{"torque": "30 N.m"}, {"back_off": "1/2 turn"}, {"torque": "12 N.m"}],
    ["snug", {"rise": "1/4 turn", "until": "seated"}],
    [{"rise": "1/4 turn", "until": "18 N.m", "rounds": [2, 3]}],
    [{"share": "50 %"}, {"torque": "20 N.m"}, {"check": "20 N.m"}],
)
LAYOUTS = ({"line": 1}, {"line": 2}, {"circle": 3}, {"rectangle": "2x2"})


@st.composite
def procedures(draw: st.DrawFn) -> Route:
    """Draw a procedure of one to ten steps, some in a repeat, with all that an author can write."""
    tools, parts = ["pin", "plug"], {"gasket": {"use_once": True}, "ring": {"count": 2}}
    groups = {f"{name} bolts": draw(_groups()) for name in ("red", "blue")}
    steps: list[dict[str, Any]] = []
    decided: list[str] = []
    for number in range(draw(st.integers(1, 8))):
        step = draw(
            _steps(f"s{number}", tuple(groups), tuple(step["step"] for step in steps), tuple(decided))
        )
        decided += [step["decide"]["name"]] if "decide" in step else []
        steps.append(step)
    repeat = draw(st.sampled_from([[], [_REPEAT]]))
    # Nothing but another of them may rest on a step that comes with the first start.
    last = 0 if repeat else draw(st.integers(0, min(2, len(steps) - 1)))
    written = {
        "procedure": "Random",
        "revision": 1,
        "demonstration": True,
        "about": "Invented.",
        "cautions": ["Look out."],
        "people": list(PEOPLE),
        "read_back": draw(st.sampled_from(["next", "yes"])),
        "groups": groups,
        "parts": parts,
        "tools": tools,
        "steps": [*steps, *repeat],
        "first_start": [step["step"] for step in steps[len(steps) - last :]],
    }
    return route_through(parse_procedure(json.dumps(written), name="random"))


_REPEAT = {
    "repeat": "side",
    "each": ["left", "right"],
    "groups": {"{side} nuts": {"count": 2, "stages": [{"torque": "8 N.m"}]}},
    "steps": [
        {"step": "lay", "say": "Lay the {side} plate on."},
        {"step": "nuts", "say": "Tighten the {side} nuts.", "tighten": "{side} nuts", "rests_on": "lay"},
    ],
}


@st.composite
def _groups(draw: st.DrawFn) -> dict[str, Any]:
    return {"layout": draw(st.sampled_from(LAYOUTS)), "stages": draw(st.sampled_from(LAST_STAGES))}


@st.composite
def _steps(
    draw: st.DrawFn, name: str, groups: tuple[str, ...], before: tuple[str, ...], decided: tuple[str, ...]
) -> dict[str, Any]:
    step: dict[str, Any] = {"step": name, "say": f"Do the {name} thing."}
    step |= draw(st.sampled_from(_actions(name, groups)))
    if draw(st.integers(0, 3)) == 0:
        step["caution"] = {"say": "It is hot.", "severe": draw(st.booleans())}
    if draw(st.booleans()) and decided:
        wanted = draw(st.sampled_from(["", "not "]))
        step["when"] = [wanted + draw(st.sampled_from(decided))]
    if draw(st.integers(0, 2)) == 0:
        step["rests_on"] = draw(_some_of(before))
    return step


def _some_of(names: tuple[str, ...]) -> st.SearchStrategy[list[str]]:
    return st.lists(st.sampled_from(names), max_size=2, unique=True) if names else st.just([])


def _actions(name: str, groups: tuple[str, ...]) -> tuple[dict[str, Any], ...]:
    check = {"ask": f"Is {name} so?", "if_not": "Make it so."}
    return (
        {},
        {"use": "gasket"},
        {"use": "ring", "put_in": "pin"},
        {"take_out": "pin", "put_in": ["plug"]},
        {"helper": "turn the wheel."},
        {"tighten": groups[0]},
        {"tighten": groups[1]},
        {"tighten": {"group": groups[0], "stages": [1]}},
        {"measure": {"what": "the gap", "least": "0.10 mm", "most": "0.30 mm", "gauge": "0.02 mm"}},
        {"wait": {"least": "20 min", "test": f"Is {name} cool?"}},
        {"check": check},
        {"check": check},
        {"check": {**check, "hold": True}},
        {"decide": {"name": f"about {name}", "ask": f"Was {name} apart?"}},
    )


_NUMBERS = st.sampled_from(["one", "two", "three", "four", "nine"])
_STEPS = ("one", "two", "three", "four", "five", "six", "eight", "forty")
SLOTS: dict[str, st.SearchStrategy[dict[str, str]]] = {
    **{
        name: _NUMBERS.map(lambda number: {"position": number})
        for name in ("position-done", "correct", "position-again")
    },
    **{name: st.sampled_from(_STEPS).map(lambda number: {"step": number}) for name in ("go-to", "reopen")},
    "mark": st.tuples(_NUMBERS, st.sampled_from(["doubtful", "damaged", "stripped", "sound"])).map(
        lambda pair: {"position": pair[0], "standing": pair[1]}
    ),
    "measured": st.sampled_from(["point two", "point one one", "point three one", "one"]).map(
        lambda value: {"value": value, "unit": "millimetres"}
    ),
    "in-unit": st.sampled_from(["inch pounds", "newton metres"]).map(lambda unit: {"unit": unit}),
    "torque": st.sampled_from([{}, {"group": "red bolts"}]),
    "sequence": st.sampled_from([{}, {"group": "blue bolts"}]),
    "reason": st.sampled_from((*REASONS, *REMEDIES)).map(lambda reason: {"reason": reason}),
    **{
        name: st.sampled_from(["gasket", "ring", "kilo two", "loose part", "cover"]).map(
            lambda thing: {"thing": thing}
        )
        for name in ("off", "put-back", "where-is", "fitted", "reuse", "kit-left")
    },
    "put": st.sampled_from(["kilo two", "loose part", "cover"]).map(
        lambda thing: {"thing": thing, "spot": "tray one slot two"}
    ),
    **{name: st.just({"thing": "kilo two"}) for name in ("label", "what-is")},
    "applied": st.just({"supply": "engine oil"}),
    **{
        name: st.sampled_from(["pin", "plug", "rag"]).map(lambda tool: {"tool": tool})
        for name in ("tool-in", "tool-out")
    },
    "value-of": st.sampled_from([{}, {"name": "the gap"}]),
    "note": st.sampled_from([{}, {"matter": "fault found"}, {"position": "two"}, {"thing": "cover"}]),
    "notes-play": st.sampled_from([{}, {"which": "last note"}, {"thing": "cover"}]),
}
ANYTHING = sorted(set(SPOKEN) | {"tick", "not-understood", "too-long", "returned"})
OFTEN = (
    "go-to",
    "reopen",
    "undo",
    "mark",
    "position-done",
    "position-again",
    "skip",
    "finish",
    "no",
    "all-done",
)

Move = list[Intent] | None
"""What one utterance means; None goes on as somebody would who works the job."""


@st.composite
def utterances(draw: st.DrawFn) -> Move:
    """Draw one utterance: mostly what goes on with the job, else an intent of any kind, or two in one breath."""
    if draw(st.integers(0, 9)) < 6:
        return None
    names = draw(st.sampled_from((OFTEN, OFTEN, tuple(ANYTHING))))
    several = draw(st.sampled_from([1, 1, 1, 2]))
    said = [draw(st.sampled_from(names)) for _ in range(several)]
    return [Intent(name=name, slots=draw(SLOTS.get(name, st.just({})))) for name in said]


def talks(longest: int) -> st.SearchStrategy[list[Move]]:
    """Draw a whole talk."""
    return st.lists(utterances(), min_size=longest // 2, max_size=longest)


def going_on(route: Route, state: JobState) -> list[Intent]:
    """Give what somebody would say who works the job: answers where it asks, done where it does not."""
    if state.paused or state.open_note is not None:
        return [Intent(name="resume" if state.paused else "note-end")]
    if state.question is not None:
        return [_answer(QUESTIONS[state.question.name].mode)]
    return _working(route, state)


def _working(route: Route, state: JobState) -> list[Intent]:
    if not open_steps(route, state):
        return [Intent(name="finish")]
    step = route.step(state.at or route.steps[0].step)
    if step.step in state.done | set(state.skipped) and step.step not in state.suspect:
        return [Intent(name="next")]
    if step.wait and step.step not in state.timers:
        return [Intent(name="timer-start")]
    if step.measure and step.step not in state.measured:
        return [Intent(name="measured", slots={"value": "point two", "unit": "millimetres"})]
    return [Intent(name="done"), Intent(name="next")]


def _answer(mode: str) -> Intent:
    said = {"reason": REASONS[0], "remedy": REMEDIES[0], "person": PEOPLE[0], "close": REASONS[0]}
    return Intent(name="reason", slots={"reason": said[mode]}) if mode in said else Intent(name="yes")


@dataclass(frozen=True)
class Told:
    """One turn of a talk: what was meant, the state before and after, what was recorded and answered."""

    intents: tuple[str, ...]
    before: JobState
    after: JobState
    entries: tuple[Entry, ...]
    outcome: Outcome
    words: str


def tell(route: Route, talk: list[Move]) -> tuple[list[Told], MemoryStore]:
    """Work a whole talk out from the beginning, keeping every turn and every event."""
    store, state, told = MemoryStore(), JobState(), []
    now = datetime(2026, 3, 2, 8, tzinfo=UTC)
    for number, move in enumerate([[Intent(name="opened")], None, *talk]):
        now += timedelta(minutes=7)
        intents = going_on(route, state) if move is None else move
        outcome = handle(route, state, intents, now, heard=_heard(number, intents))
        words = BOOK.sentences(outcome.reply)
        said: tuple[Event, ...] = (Replied(words=words, passing=outcome.reply.passing),) if words else ()
        entries = store.append(state.turn + 1, now, (*outcome.events, *said))
        before = state
        for entry in entries:
            state = fold(state, entry)
        told.append(Told(tuple(each.name for each in intents), before, state, entries, outcome, words))
    return told, store


def _heard(number: int, intents: list[Intent]) -> JobOpened | Heard | Refused:
    names = tuple(intent.name for intent in intents)
    if number == 0:
        return JobOpened(job="random", procedure="random", revision=1)
    return Refused() if names == ("not-understood",) else Heard(words="", intents=names)
