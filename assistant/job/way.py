"""Where a job is on its way: which steps it has, what each waits for, and which can be worked now.

Steps are worked out as bits, one for each place on the route, and kept as long as nothing about them changes:
a turn of a job of ten thousand steps must not take longer than one of a hundred.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache, reduce
from itertools import compress
from operator import or_
from typing import Final

from assistant.job.state import JobState
from assistant.procedure.conditions import applies
from assistant.procedure.model import Step
from assistant.procedure.route import Route

_KEPT: Final = 32
"""How many answers are kept; a job asks for the same few, over and over."""

Decisions = frozenset[tuple[str, bool]]
Named = frozenset[str]


@dataclass(frozen=True)
class _Mine:
    """The steps that a job has, by the decisions so far: in order, and as bits."""

    steps: tuple[Step, ...]
    bits: int


@lru_cache(_KEPT)
def _mine(route: Route, decisions: Decisions, closing: bool) -> _Mine:  # noqa: FBT001  (lru_cache keys by place)
    later = frozenset() if closing else frozenset(route.procedure.first_start)
    taken = dict(decisions)
    steps = tuple(step for step in route.steps if applies(step, taken) and step.step not in later)
    return _Mine(steps, _many_bits(route, frozenset(step.step for step in steps)))


@lru_cache(_KEPT)
def _many_bits(route: Route, names: Named) -> int:
    """Give the places of many steps as bits. At the pace of `map`: this runs over the whole route."""
    highest_first = bytes(map(names.__contains__, reversed(route.names)))
    return int(highest_first.translate(_AS_DIGITS), 2)


_AS_DIGITS: Final = bytes.maketrans(b"\x00\x01", b"01")


def _few_bits(route: Route, names: Iterable[str]) -> int:
    return reduce(or_, (1 << route.place(name) for name in names if name in route.under), 0)


def _places(bits: int) -> Iterator[int]:
    """Give the places of the bits that are set, the lowest first."""
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


def _steps(route: Route, bits: int) -> tuple[Step, ...]:
    """Give the steps whose bits are set, in their order."""
    return tuple(compress(route.steps, map(int, f"{bits:b}"[::-1])))


def _mine_now(route: Route, state: JobState) -> _Mine:
    return _mine(route, frozenset(state.decisions.items()), state.closing)


def _open_now(route: Route, state: JobState) -> int:
    done = _many_bits(route, state.done.older) | _few_bits(route, state.done.newer)
    dealt_with = done | _few_bits(route, state.skipped)
    return _mine_now(route, state).bits & (~dealt_with | _few_bits(route, state.suspect))


def steps_of(route: Route, state: JobState) -> tuple[Step, ...]:
    """Give the steps that this job has: of those after close-out only where it has come so far."""
    return _mine_now(route, state).steps


def has_step(route: Route, state: JobState, name: str) -> bool:
    """Tell whether this job has a step of the route."""
    return bool(_mine_now(route, state).bits >> route.place(name) & 1)


def step_before(route: Route, state: JobState, here: str) -> Step | None:
    """Give the step of this job before another, or None before its first."""
    before = _mine_now(route, state).bits & ~(-1 << route.place(here))
    return route.steps[before.bit_length() - 1] if before else None


def is_open(route: Route, state: JobState, step: Step) -> bool:
    """Tell whether a step of this job is still to be dealt with: done or left out, and not in suspicion."""
    return bool(_open_now(route, state) >> route.place(step.step) & 1)


def is_any_open(route: Route, state: JobState) -> bool:
    """Tell whether a step is still to be dealt with."""
    return _open_now(route, state) != 0


def open_steps(route: Route, state: JobState) -> tuple[Step, ...]:
    """Give the steps that are still to be dealt with, in their order."""
    return _steps(route, _open_now(route, state))


def missing_before(route: Route, state: JobState, step: Step) -> tuple[Step, ...]:
    """Give the open steps on which a step rests, in their order."""
    return _steps(route, _open_now(route, state) & route.under[step.step])


def resting_on(route: Route, state: JobState, name: str) -> tuple[str, ...]:
    """Give the steps that are done and rest on the one named."""
    return tuple(
        step.step for step in route.steps if step.step in state.done and route.rests(step.step, name)
    )


def is_ready(route: Route, state: JobState, step: Step) -> bool:
    """Tell whether a step is open and waits for nothing: neither for a step that it rests on nor its own time."""
    timer = state.timers.get(step.step)
    waits = timer is not None and timer.running
    return is_open(route, state, step) and not waits and not _open_now(route, state) & route.under[step.step]


def next_step(route: Route, state: JobState, here: str) -> Step | None:
    """Give the step to go to: one whose time is up, else the next that is ready, else the first, else none."""
    open_here = _open_now(route, state) & ~(1 << route.place(here))
    timed = _few_bits(route, state.timers)
    after = -1 << route.place(here)
    for wanted in (open_here & timed, open_here & after, open_here):
        steps = (route.steps[place] for place in _places(wanted))
        if found := next((step for step in steps if is_ready(route, state, step)), None):
            return found
    return None
