"""Random procedures and random talk for the property tests: small, but with everything that a job can have."""

from typing import Any

from hypothesis import strategies as st

from assistant.dialogue.intents import SPOKEN, Intent
from assistant.procedure.model import Procedure
from assistant.procedure.route import Route, route_through

STAGES: tuple[list[Any], ...] = (
    ["snug", {"torque": "20 N.m"}],
    [{"torque": "10 N.m"}, {"angle": "90 deg"}],
    [{"torque": "15 N.m"}, {"back_off": "1 turn"}, {"torque": "30 N.m"}],
    [{"rise": "1/4 turn", "until": "seated"}, {"torque": "12 N.m"}],
    [{"rise": "1/4 turn", "until": "18 N.m", "rounds": [1, 2], "clicks": True}],
)
WORDS = ("one", "two", "three", "four", "seven")
SLOTS: dict[str, st.SearchStrategy[dict[str, str]]] = {
    **dict.fromkeys(
        ("position-done", "position-again", "correct"), st.sampled_from(WORDS).map(lambda n: {"position": n})
    ),
    **dict.fromkeys(("go-to", "reopen"), st.sampled_from(WORDS).map(lambda n: {"step": n})),
    "mark": st.tuples(
        st.sampled_from(WORDS), st.sampled_from(("doubtful", "damaged", "broken", "sound"))
    ).map(lambda pair: {"position": pair[0], "standing": pair[1]}),
    "reason": st.sampled_from(("do it later", "on instruction", "anna", "new bolt", "left as it is")).map(
        lambda reason: {"reason": reason}
    ),
    "measured": st.sampled_from(
        (
            {"value": "point two", "unit": "millimetres"},
            {"value": "point nine", "unit": "millimetres"},
            {"value": "five", "unit": "newton metres"},
        )
    ),
    "in-unit": st.just({"unit": "inch pounds"}),
    "no-value": st.just({"value": "point two"}),
}
NEEDING = frozenset(name for name, slots in SPOKEN.items() if slots) - set(SLOTS)
"""Intents whose slots are not drawn here; those that may go without a slot are said without."""
OPTIONAL = frozenset({"torque", "sequence", "open"})
TALKED = sorted((set(SPOKEN) - NEEDING | OPTIONAL) | {"tick", "not-understood", "returned"})


@st.composite
def routes(draw: st.DrawFn) -> Route:
    """Draw a procedure of three to seven steps, and its whole way."""
    count = draw(st.integers(3, 7))
    groups = {
        f"group {n}": {"count": draw(st.integers(1, 3)), "stages": draw(st.sampled_from(STAGES))}
        for n in range(2)
    }
    steps = [draw(_step(number, count)) for number in range(count)]
    first_start = [steps[-1]["step"]] if draw(st.booleans()) else []
    return route_through(
        Procedure.model_validate(
            {
                "procedure": "Random",
                "revision": 1,
                "about": "Invented.",
                "cautions": "Mind.",
                "groups": groups,
                "steps": steps,
                "first_start": first_start,
                "people": ["anna"],
                "parts": {"ring": {"use_once": True}},
                "tools": ["pin"],
                "read_back": draw(st.sampled_from(("next", "yes"))),
            }
        )
    )


@st.composite
def _step(draw: st.DrawFn, number: int, _count: int) -> dict[str, Any]:
    actions: tuple[dict[str, Any], ...] = (
        {},
        {"use": "ring"},
        {"put_in": "pin"},
        {"take_out": "pin"},
        {"tighten": draw(st.sampled_from(("group 0", "group 1")))},
        {"measure": {"what": "the gap", "least": "0.1 mm", "most": "0.3 mm", "gauge": "0.01 mm"}},
        {"wait": {"least": "20 min", "test": "Is it soft?"}},
        {"check": {"ask": "Is it square?", "if_not": "Turn it.", "hold": draw(st.booleans())}},
        {"helper": "turn it until I say stop"},
    )
    if number == 0:
        decide: dict[str, Any] = {"decide": {"name": "apart", "ask": "Is it apart?"}}
        return {"step": "step-0", "say": "Look.", **draw(st.sampled_from(({}, decide)))}
    step: dict[str, Any] = {"step": f"step-{number}", "say": "Do it.", **draw(st.sampled_from(actions))}
    if draw(st.integers(0, 3)) == 0:
        step["rests_on"] = draw(st.lists(st.sampled_from([f"step-{n}" for n in range(number)]), max_size=2))
    if draw(st.integers(0, 5)) == 0:
        step["caution"] = {"say": "It bites.", "severe": draw(st.booleans())}
    return step


Said = list[Intent] | int
"""One utterance: what it means, or the number of a sensible one, which depends on where the job then is."""


@st.composite
def _anything(draw: st.DrawFn) -> list[Intent]:
    """Draw what one utterance may mean: one or two intents, whatever they are."""
    names = draw(st.lists(st.sampled_from(TALKED), min_size=1, max_size=2))
    return [Intent(name=name, slots=draw(SLOTS.get(name, st.just({})))) for name in names]


def talks(most: int = 50) -> st.SearchStrategy[list[Said]]:
    """Draw a talk: mostly what a mechanic would say there, and anything at all between."""
    said: st.SearchStrategy[Said] = st.one_of(*[st.integers(0, 19)] * 6, _anything())
    return st.lists(said, min_size=most // 2, max_size=most)


BY_MODE: dict[str, tuple[tuple[str, dict[str, str]], ...]] = {
    "paused": (("resume", {}),),
    "reason": (("reason", {"reason": "do it later"}),),
    "remedy": (("reason", {"reason": "new bolt"}), ("reason", {"reason": "left as it is"})),
    "person": (("reason", {"reason": "anna"}),),
    "note": (("note-end", {}),),
    "played": (("stop", {}),),
    "tighten": (
        *[("done", {})] * 6,
        ("all-done", {}),
        *[("click", {})] * 2,
        ("position-done", {"position": "two"}),
        ("next", {}),
    ),
    "measure": (*[("measured", {"value": "point two", "unit": "millimetres"})] * 3, ("next", {})),
    "wait": (("timer-start", {}), ("done", {}), ("next", {}), ("next", {})),
    "step": (("done", {}), ("next", {})),
}
"""What a mechanic would say, by the mode; to a question mostly yes."""

ANSWERS: tuple[tuple[str, dict[str, str]], ...] = (*[("yes", {})] * 5, ("no", {}))


def sensible(mode: str, choice: int) -> list[Intent]:
    """Give what somebody might well say in a mode."""
    ways = BY_MODE.get(mode, ANSWERS)
    name, slots = ways[choice % len(ways)]
    return [Intent(name=name, slots=slots)]
