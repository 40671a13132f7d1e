"""Which steps a job has: those whose conditions hold, by the decisions that were taken."""

from collections.abc import Mapping

from assistant.procedure.model import Step

_NOT = "not "


def decision_of(condition: str) -> tuple[str, bool]:
    """Give the decision that a condition names, and the answer that it wants."""
    return condition.removeprefix(_NOT), not condition.startswith(_NOT)


def applies(step: Step, decisions: Mapping[str, bool]) -> bool:
    """Tell whether all conditions of a step hold; one that nobody has decided yet does not."""
    wanted = (decision_of(condition) for condition in step.when)
    return all(decisions.get(name) is answer for name, answer in wanted)


def depends_on(step: Step, decision: str) -> bool:
    """Tell whether a step comes up or is left out by a decision."""
    return any(decision_of(condition)[0] == decision for condition in step.when)
