"""What walks through a procedure show its author: steps that never came up, long answers, things left open."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from assistant.procedure.conditions import decision_of
from assistant.procedure.model import Step
from assistant.procedure.route import Route
from assistant.simulate.rehearsal import Spoken, Walked

LONGEST_S: Final = 20.0
MOST_SENTENCES: Final = 2
"""An answer that takes longer, or an author's text with more sentences, is not kept in mind; common practice, no
source."""

_MOST_DECISIONS: Final = 3
_LEAST_WALKS: Final = 2


@dataclass(frozen=True, kw_only=True)
class Told:
    """One finding of a rehearsal: on which route, at which step ("" for the whole), what, and what to do."""

    route: str
    step: str
    what: str
    do: str


def walks_for(route: Route) -> int:
    """Give how many walks take each of the first decisions both ways, in all their combinations."""
    decisions = sum(step.decide is not None for step in route.steps)
    return int(max(_LEAST_WALKS, 2 ** min(decisions, _MOST_DECISIONS)))


def told(route: Route, walks: Sequence[Walked]) -> tuple[Told, ...]:
    """Give what an author should know after these walks of one route."""
    finders = (_stuck, _lost, _not_reached, _not_done, _left_open, _long, _wordy)
    return tuple(found for find in finders for found in find(route, walks))


def misheard(walks: Sequence[Walked]) -> Counter[tuple[str, str]]:
    """Count what was said and what it was taken for; "" where it was asked for again or let be."""
    return Counter((each.said, each.heard) for walk in walks for each in walk.misheard)


def opening(walks: Sequence[Walked]) -> Spoken | None:
    """Give the opening, which is told whole however long it is."""
    return next((walk.replies[0] for walk in walks if walk.replies), None)


def _stuck(route: Route, walks: Sequence[Walked]) -> Iterator[Told]:
    for walk in walks:
        if walk.stuck:
            at = next((spoken.step for spoken in reversed(walk.replies)), "")
            what = f"walk {walk.walk} got no further than here: {walk.stuck}"
            yield Told(route=route.name, step=at, what=what, do="see what this step asks for and waits for")


def _lost(route: Route, walks: Sequence[Walked]) -> Iterator[Told]:
    found = {step: answer for walk in walks for step, answer in walk.lost.items()}
    for step, answer in found.items():
        what = f"nothing that was said here led on; the answer was {answer!r}"
        yield Told(route=route.name, step=step, what=what, do="see what this step asks for and waits for")


def _not_reached(route: Route, walks: Sequence[Walked]) -> Iterator[Told]:
    reached = frozenset[str]().union(*(walk.reached for walk in walks))
    left = [step for step in route.steps if step.step not in reached]
    if left and all(walk.stuck for walk in walks):
        what = f"no walk came as far as {', '.join(step.step for step in left)}"
        yield Told(route=route.name, step="", what=what, do="mend first where the walks got no further")
        return
    for step in left:
        yield Told(
            route=route.name,
            step=step.step,
            what=f"no walk reached it{_conditions(step, walks)}",
            do="see what it rests on, and who decides its conditions",
        )


def _conditions(step: Step, walks: Sequence[Walked]) -> str:
    """Say which conditions of a step no walk fulfilled."""
    wanted = [decision_of(condition) for condition in step.when]
    for name, yes in wanted:
        if (name, not yes) in wanted:
            return f"; no answer to {name} lets it come up"
    if not wanted or any(all(walk.decisions.get(name) is yes for name, yes in wanted) for walk in walks):
        return ""
    said = " and ".join(f"{name}: {'yes' if yes else 'no'}" for name, yes in wanted)
    return f"; none decided {said}"


def _not_done(route: Route, walks: Sequence[Walked]) -> Iterator[Told]:
    reached = frozenset[str]().union(*(walk.reached for walk in walks))
    done = frozenset[str]().union(*(walk.done for walk in walks))
    for step in route.steps:
        if step.step in reached - done:
            what = "it was read and never came to be done"
            yield Told(route=route.name, step=step.step, what=what, do="see what this step asks for")


def _left_open(route: Route, walks: Sequence[Walked]) -> Iterator[Told]:
    items = Counter(each for walk in walks for each in _open(walk))
    for (step, kind), times in items.items():
        what = f"{_OPEN.get(kind, kind)} at the end of {times} of {len(walks)} walks"
        yield Told(route=route.name, step=step, what=what, do="see which step should have settled it")


def _open(walk: Walked) -> Iterator[tuple[str, str]]:
    """Give what a walk left open, each once; at a step that it never reached nothing else is to be expected."""
    yield from dict.fromkeys((item.step, item.kind) for item in walk.left_open if item.step in walk.reached)


_OPEN: Final = {
    "position": "fasteners were left that are not final",
    "inside": "something was left inside",
    "measurement": "a value was left outside its limits",
    "stale": "a value was left that no longer holds",
    "readings": "readings were lacking",
    "wait": "a wait was left cut short",
    "kit": "something of the kit was not fitted",
    "suspect": "the step was left suspect",
    "skipped": "the step was left out",
    "step": "the step was left undone",
}


def _long(route: Route, walks: Sequence[Walked]) -> Iterator[Told]:
    seen: set[tuple[str, str]] = set()
    for walk in walks:
        for spoken in walk.replies[1:]:
            key = (spoken.step, spoken.words)
            if spoken.seconds > LONGEST_S and key not in seen:
                seen.add(key)
                what = f"an answer takes {spoken.seconds:.0f} s: {spoken.words}"
                yield Told(
                    route=route.name, step=spoken.step, what=what, do="say it shorter, or in two steps"
                )


def _wordy(route: Route, _walks: Sequence[Walked]) -> Iterator[Told]:
    for step in route.steps:
        for name, text in _texts(step):
            written = Spoken(step.step, "", text)
            if written.sentences > MOST_SENTENCES:
                what = f"{name} has {written.sentences} sentences"
                yield Told(
                    route=route.name, step=step.step, what=what, do="leave two, or make two steps of it"
                )


def _texts(step: Step) -> Iterator[tuple[str, str]]:
    yield "say", step.say
    parts = (("caution", step.caution, ("say",)), ("check", step.check, ("ask", "if_not")))
    for name, part, keys in (*parts, ("wait", step.wait, ("test",)), ("decide", step.decide, ("ask",))):
        for key in keys if part is not None else ():
            yield name, getattr(part, key)
