"""The tool of the shop for each act of a plan, and what is to be said about the tools."""

import datetime as dt
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from assistant.errors import TorqueError
from assistant.procedure.model import Procedure
from assistant.torque.group import FastenerGroup
from assistant.torque.plan import Act, torque_of
from assistant.torque.units import Quantity
from assistant.torque.wrench import USUAL_TOLERANCE, Choice, Reach, Shop, choose, direct, through


class Tooling(NamedTuple):
    """The choice for each act, None where it needs no torque wrench or none suits; and the findings.

    A finding is told once: a torque that no wrench of the shop brings, a wrench that is doubted at a
    torque, a calibration that is missing or too old.
    """

    choices: tuple[Choice | None, ...]
    findings: tuple[str, ...]


def reaches(procedure: Procedure, group: FastenerGroup) -> dict[int, Reach]:
    """Give, by stage, how the steps of a procedure reach a group: through their adapters, where they have one."""
    found: dict[int, Reach] = {}
    for step in procedure.steps:
        if step.tighten and step.tighten.group == group.name and (adapter := step.tighten.adapter):
            stages = step.tighten.stages or range(1, len(group.stages) + 1)
            found |= dict.fromkeys(stages, through(adapter.length, adapter.angle))
    return found


def tools_for(
    group: FastenerGroup,
    acts: Sequence[Act],
    shop: Shop,
    today: dt.date,
    by_stage: Mapping[int, Reach] = MappingProxyType({}),
) -> Tooling:
    """Choose the wrench for each act; a shop without wrenches has nothing to choose and nothing to find."""
    if not shop.wrenches:
        return Tooling((None,) * len(acts), ())
    told: dict[str, None] = {}  # keeps the order, and each finding once
    choices: list[Choice | None] = []
    for act in acts:
        torque = torque_of(act)
        reach = by_stage.get(act.stage, direct)
        choice = _choice(group, torque, shop, told, reach) if torque else None
        choices.append(choice)
        if choice:
            told |= dict.fromkeys(_about(choice, today))
    return Tooling(tuple(choices), tuple(told))


def _choice(
    group: FastenerGroup, torque: Quantity, shop: Shop, told: dict[str, None], reach: Reach
) -> Choice | None:
    tolerance = group.tolerance or USUAL_TOLERANCE
    try:
        return choose(shop, torque, tolerance, left_hand=group.left_hand, reach=reach)
    except TorqueError as error:
        told[str(error)] = None
        return None


def _about(choice: Choice, today: dt.date) -> tuple[str, ...]:
    doubts = tuple(f"{choice.wrench.spoken}: {doubt.text}" for doubt in choice.doubts)
    calibration = choice.wrench.calibration(today)
    return (*doubts, calibration) if calibration else doubts
