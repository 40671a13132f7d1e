"""Tightening what was backed off before, as where a stage was put off: what came after that no longer counts."""

from collections.abc import Collection, Iterable, Sequence

from assistant.dialogue.acts import Numbered, which
from assistant.dialogue.turn import Turn
from assistant.job.events import PassReopened, StepReopened
from assistant.job.way import has_step, resting_on
from assistant.procedure.model import Step
from assistant.torque.plan import Act


def reopen_after_tightening(turn: Turn, step: Step, acts: Sequence[Numbered]) -> tuple[int, ...]:
    """Have the back-off, and what came after it, done again at positions that were tightened after it.

    The steps of that are to be done again too, so that "next" leads there. Say so, and at which step; give these
    positions. What was recorded in the same breath, position by position, came in its turn.
    """
    group = turn.route.group(step).name
    plan, done = turn.route.plans[group], turn.state.acts.get(group, frozenset())
    before = done - {number for number, _ in acts}
    gone = sorted({later for number, _ in acts for later in _lost(plan, before, number)})
    if not gone:
        return ()
    positions = tuple(dict.fromkeys(plan[number].position for number in gone))
    steps = _steps_of(turn, group, gone)
    turn.record(PassReopened(group=group, numbers=tuple(gone), positions=positions, because="tightened"))
    for each in steps:
        if each in turn.state.done:
            turn.record(StepReopened(step=each, suspect=resting_on(turn.route, turn.state, each)))
    turn.say(
        "position.tightened-again",
        which=which(turn, step, positions),
        count=len(positions),
        number=turn.step_number(next(iter(steps), step.step)),
    )
    return positions


def _lost(plan: Sequence[Act], done: Iterable[int], number: int) -> tuple[int, ...]:
    """Give what is done of the same position after an act, from a back-off on; nothing where none is among it."""
    later = sorted(each for each in done if each > number and plan[each].position == plan[number].position)
    first = next((place for place, each in enumerate(later) if plan[each].kind == "back-off"), len(later))
    return tuple(later[first:])


def _steps_of(turn: Turn, group: str, gone: Collection[int]) -> tuple[str, ...]:
    """Name the steps of this job at which acts of a group's plan are done, in their order."""
    return tuple(
        step.step
        for step in turn.route.steps
        if step.tighten
        and step.tighten.group == group
        and has_step(turn.route, turn.state, step.step)
        and any(number in gone for number, _ in turn.route.acts(step))
    )
