"""The tool of the shop for each act of a plan, and what is to be said about the tools."""

import datetime as dt
from collections.abc import Sequence
from typing import NamedTuple

from assistant.errors import TorqueError
from assistant.torque.group import FastenerGroup
from assistant.torque.plan import Act, torque_of
from assistant.torque.units import Quantity
from assistant.torque.wrench import USUAL_TOLERANCE, Choice, Shop, choose


class Tooling(NamedTuple):
    """The choice for each act, None where it needs no torque wrench or none suits; and the findings.

    A finding is told once: a torque that no wrench of the shop brings, a wrench that is doubted at a
    torque, a calibration that is missing or too old.
    """

    choices: tuple[Choice | None, ...]
    findings: tuple[str, ...]


def tools_for(group: FastenerGroup, acts: Sequence[Act], shop: Shop, today: dt.date) -> Tooling:
    """Choose the wrench for each act; a shop without wrenches has nothing to choose and nothing to find."""
    if not shop.wrenches:
        return Tooling((None,) * len(acts), ())
    told: dict[str, None] = {}  # keeps the order, and each finding once
    choices: list[Choice | None] = []
    for act in acts:
        torque = torque_of(act)
        choice = _choice(group, torque, shop, told) if torque else None
        choices.append(choice)
        if choice:
            told |= dict.fromkeys(_about(choice, today))
    return Tooling(tuple(choices), tuple(told))


def _choice(group: FastenerGroup, torque: Quantity, shop: Shop, told: dict[str, None]) -> Choice | None:
    try:
        return choose(shop, torque, group.tolerance or USUAL_TOLERANCE, left_hand=group.left_hand)
    except TorqueError as error:
        told[str(error)] = None
        return None


def _about(choice: Choice, today: dt.date) -> tuple[str, ...]:
    doubts = tuple(f"{choice.wrench.spoken}: {doubt.text}" for doubt in choice.doubts)
    calibration = choice.wrench.calibration(today)
    return (*doubts, calibration) if calibration else doubts
