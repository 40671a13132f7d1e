"""Rehearsals without sound: every procedure that is here is walked to a closed job, by rules and no script."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.dialogue.modes import BY_ACTION
from assistant.dialogue.questions import QUESTIONS
from assistant.job.closeout import OpenItem
from assistant.paths import shipped
from assistant.procedure.load import parse_procedure
from assistant.procedure.model import Procedure
from assistant.procedure.route import Route, route_through
from assistant.simulate.answers import ACTIONS, ANSWERS
from assistant.simulate.door import TypedDoor
from assistant.simulate.rehearsal import Spoken, Walked, walk
from assistant.simulate.rehearsed import told, walks_for

_BENCH = Path(__file__).parent.parent / "talks" / "bench"
_FILES = [
    *sorted(shipped("procedures").glob("*.yaml")),
    *(path for path in sorted(_BENCH.rglob("*.yaml")) if path.stem != "shop"),
]

HEAD = """
procedure: Rehearsed bench
revision: 1
about: Invented, for the tests.
cautions: Lock the drive.
"""


def _walked(text: str, *, number: int = 0, seed: int = 1) -> tuple[Route, Walked]:
    route = route_through(parse_procedure(text, name="bench.yaml"))
    return route, walk(route, text, TypedDoor(), number=number, seed=seed)


def test_answers_every_question() -> None:
    """There is a rule for each question of the dialogue, and none for a question that is not there."""
    assert ANSWERS.keys() == QUESTIONS.keys()


def test_works_every_kind_of_step() -> None:
    """There is a rule for each kind of step, and none for a kind that is not there."""
    assert ACTIONS.keys() == BY_ACTION.keys()


def _spare(procedure: Procedure) -> set[str]:
    """Give the kit of which more is counted than the steps ever use: some is left over whatever is done."""
    used = Counter[str]()
    for step in procedure.steps:
        used.update(step.use)
    return {name for name, part in procedure.parts.items() if name in used and part.count > used[name]}


@pytest.mark.parametrize("path", _FILES, ids=lambda path: path.stem)
def test_walks_to_a_closed_job(path: Path) -> None:
    """Each procedure and each of its routes is walked to its close, every step reached, nothing left open.

    Of those that travel with the program there is nothing to tell their author either, such as a long answer.
    """
    text = path.read_text(encoding="utf-8")
    procedure = parse_procedure(text, name=path.name)
    for name in ("", *procedure.routes):
        route = route_through(procedure, name)
        walks = [walk(route, text, TypedDoor(), number=n, seed=3) for n in range(walks_for(route))]
        assert all(each.closed and not each.stuck and not each.misheard for each in walks)
        assert not [item for each in walks for item in each.left_open if item.what not in _spare(procedure)]
        assert frozenset[str]().union(*(each.done for each in walks)) == {step.step for step in route.steps}
        assert path.parent == _BENCH or not told(route, walks)


def test_same_seed_same_walk() -> None:
    """The same seed gives the same walk to the word; another seed gives another."""
    text = (_BENCH / "course.yaml").read_text(encoding="utf-8")
    first, again, other = (_walked(text, seed=seed)[1] for seed in (5, 5, 6))
    assert first == again
    assert [each.to for each in first.replies] != [each.to for each in other.replies]


def test_hundred_steps() -> None:
    """A procedure of a hundred steps is walked to its end."""
    steps = "".join(f"  - {{step: s{n}, say: Do thing {n}.}}\n" for n in range(100))
    _, walked = _walked(f"{HEAD}steps:\n{steps}")
    assert walked.closed
    assert len(walked.done) == 100


def test_tells_of_a_step_that_never_comes_up() -> None:
    """A step whose conditions can never hold together is told, with what nobody decided."""
    text = HEAD + (
        "steps:\n"
        "  - {step: look, say: Look., decide: {name: split, ask: Was it split?}}\n"
        "  - {step: a, say: Do it., when: [split, not split]}\n"
    )
    route = route_through(parse_procedure(text, name="bench.yaml"))
    walks = [walk(route, text, TypedDoor(), number=n, seed=1) for n in range(2)]
    [found] = told(route, walks)
    assert (found.step, found.what) == ("a", "no walk reached it; no answer to split lets it come up")


def test_a_walk_that_got_stuck_is_told_once() -> None:
    """What lies behind the place where every walk got stuck is one line, and what it left open is none of its own."""
    text = HEAD + (
        "parts: {gasket: {}, dowel: {}}\n"
        "steps:\n"
        "  - {step: a, say: Do it.}\n"
        "  - {step: b, say: Fit both., use: [gasket, dowel]}\n"
        "  - {step: c, say: Do it.}\n"
    )
    route, walked = _walked(text)
    kit = tuple(OpenItem(kind="kit", step="b", what=what) for what in ("gasket", "dowel"))
    short = replace(walked, closed=False, stuck="x", reached=frozenset({"a"}), done=frozenset({"a"}))
    found = [(each.step, each.what) for each in told(route, [replace(short, left_open=kit)])]
    assert ("", "no walk came as far as b, c") in found
    assert not any("not fitted" in what for _, what in found)
    reached = replace(short, left_open=kit, reached=frozenset({"a", "b"}))
    found = [(each.step, each.what) for each in told(route, [reached])]
    assert ("b", "something of the kit was not fitted at the end of 1 of 1 walks") in found


def test_tells_of_what_cannot_be_worked_out() -> None:
    """A value that divides by nothing gets nobody on, and its step is told."""
    text = HEAD + (
        "steps:\n"
        "  - {step: a, say: Measure it., measure: {name: a, what: the gap, unit: mm}}\n"
        "  - {step: b, say: Work it out., work_out: {name: b, what: the share, value: a / (a - a), unit: '%'}}\n"
    )
    route, walked = _walked(text)
    assert walked.closed
    assert {each.step for each in told(route, [walked])} == {"b"}


def test_tells_of_a_long_answer() -> None:
    """An author's text that takes more than twenty seconds, and one of three sentences, are told."""
    long = " ".join(["turn it on and on"] * 12)
    said = {"a": "Go", "b": long, "c": "Go. Stop. Go"}
    steps = "".join(f"  - {{step: {step}, say: {words}.}}\n" for step, words in said.items())
    text = f"{HEAD}steps:\n{steps}"
    route, walked = _walked(text)
    assert sorted({(each.step, each.what.split(":")[0]) for each in told(route, [walked])}) == [
        ("b", "an answer takes 25 s"),
        ("c", "say has 3 sentences"),
    ]


def test_counts_time_and_sentences() -> None:
    """An answer takes its words at two and a half a second; decimals and numbers end no sentence."""
    assert Spoken("", "", "One two three. Four five?").seconds == 2
    assert Spoken("", "", "It is 0.35 mm. Is that right?").sentences == 2
