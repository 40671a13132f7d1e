"""Tightening what was backed off before, as where a stage was put off: what came after that no longer counts."""

from collections.abc import Iterable, Sequence

from assistant.dialogue.acts import Numbered, which
from assistant.dialogue.turn import Turn
from assistant.job.events import PassReopened
from assistant.procedure.model import Step
from assistant.torque.plan import Act


def reopen_after_tightening(turn: Turn, step: Step, acts: Iterable[Numbered]) -> tuple[int, ...]:
    """Have the back-off, and what came after it, done again at positions that were tightened after it.

    Say so, and at which step; give these positions.
    """
    group = turn.route.group(step).name
    plan, done = turn.route.plans[group], turn.state.acts.get(group, frozenset())
    gone = sorted({later for number, _ in acts for later in _lost(plan, done, number)})
    if not gone:
        return ()
    positions = tuple(dict.fromkeys(plan[number].position for number in gone))
    turn.record(PassReopened(group=group, numbers=tuple(gone), positions=positions, because="tightened"))
    turn.say(
        "position.tightened-again",
        which=which(turn, step, positions),
        count=len(positions),
        number=turn.step_number(_step_of(turn, group, gone[0])),
    )
    return positions


def _lost(plan: Sequence[Act], done: Iterable[int], number: int) -> tuple[int, ...]:
    """Give what is done of the same position after an act, from a back-off on; nothing where none is among it."""
    later = sorted(each for each in done if each > number and plan[each].position == plan[number].position)
    first = next((place for place, each in enumerate(later) if plan[each].kind == "back-off"), len(later))
    return tuple(later[first:])


def _step_of(turn: Turn, group: str, number: int) -> str:
    """Name the step at which an act of a group's plan is done."""
    at = (
        step.step
        for step in turn.route.steps
        if step.tighten
        and step.tighten.group == group
        and any(each == number for each, _ in turn.route.acts(step))
    )
    return next(at, turn.step.step)
