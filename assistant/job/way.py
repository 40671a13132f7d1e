"""Where a job is on its way: which steps it has, what each waits for, and which can be worked now."""

from assistant.job.state import JobState
from assistant.procedure.conditions import applies
from assistant.procedure.model import Step
from assistant.procedure.route import Route


def steps_of(route: Route, state: JobState) -> tuple[Step, ...]:
    """Give the steps that this job has: of those after close-out only where it has come so far."""
    later = set() if state.closing else set(route.procedure.first_start)
    return tuple(step for step in route.steps if applies(step, state.decisions) and step.step not in later)


def is_open(route: Route, state: JobState, step: Step) -> bool:
    """Tell whether a step of this job is still to be dealt with: done or left out, and not in suspicion."""
    return _wants_dealing_with(state, step) and step in steps_of(route, state)


def _wants_dealing_with(state: JobState, step: Step) -> bool:
    return step.step not in state.done | state.skipped.keys() or step.step in state.suspect


def open_steps(route: Route, state: JobState) -> tuple[Step, ...]:
    """Give the steps that are still to be dealt with, in their order."""
    return tuple(step for step in steps_of(route, state) if _wants_dealing_with(state, step))


def missing_before(route: Route, state: JobState, step: Step) -> tuple[Step, ...]:
    """Give the open steps on which a step rests, in their order."""
    under = route.rests[step.step]
    return tuple(other for other in open_steps(route, state) if other.step in under)


def resting_on(route: Route, state: JobState, name: str) -> tuple[str, ...]:
    """Give the steps that are done and rest on the one named."""
    return tuple(
        step.step for step in route.steps if name in route.rests[step.step] and step.step in state.done
    )


def ready_steps(route: Route, state: JobState) -> tuple[Step, ...]:
    """Give the open steps that wait for nothing: neither for a step that they rest on nor for their own time."""
    open_ = open_steps(route, state)
    names = {step.step for step in open_}
    waiting = {name for name, timer in state.timers.items() if timer.running}
    return tuple(
        step for step in open_ if step.step not in waiting and route.rests[step.step].isdisjoint(names)
    )


def next_step(route: Route, state: JobState, here: str) -> Step | None:
    """Give the step to go to: one whose time is up, else the next that is ready, else the first, else none."""
    ready = [step for step in ready_steps(route, state) if step.step != here]
    is_up = (step for step in ready if step.step in state.timers)
    after = (step for step in ready if route.place(step.step) > route.place(here))
    return next(is_up, None) or next(after, None) or next(iter(ready), None)
