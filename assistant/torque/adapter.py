"""Torque wrench adapters: what to set so that the fastener gets its torque, and the other way round.

An adapter (crowfoot) that reaches beyond the square lengthens the lever, so the wrench is set
lower. With the effective length L of the wrench (from the middle of its square to the middle of the
grip) and the adapter length E (from the middle of the square to the middle of the fastener):

    setting = target x L / (L + E cos angle)

The angle is 0 where the adapter carries on in line with the handle, 90 at right angles (nothing
changes, near enough: FAA AC 43.13-1B, chapter 7, and common practice), 180 where it points back.
"""

import math
from decimal import Decimal
from fractions import Fraction

from pydantic import BaseModel, ConfigDict

from assistant.errors import TorqueError
from assistant.torque.units import Quantity

_STRAIGHT = Quantity(value=Decimal(0), unit="deg")
# Exact where people set adapters, so that right angles change nothing at all.
_COSINES = {0: Fraction(1), 60: Fraction(1, 2), 90: Fraction(0), 120: Fraction(-1, 2), 180: Fraction(-1)}

#: What to say about things between wrench and fastener for which there is no number; what costs most comes first.
CAUTIONS = {
    "universal joint": "A universal joint takes an unknown share of the torque; reach it another way.",
    "extension": "A long thin extension changes no setting; support its end, and pull slowly.",
    "grip": "Hold the wrench at the middle of its grip; with an adapter the place of the hand counts.",
}


class Adapted(BaseModel):
    """A wrench with an adapter: what it is set to, what the fastener gets, and what to mind."""

    model_config = ConfigDict(frozen=True)

    setting: Quantity
    target: Quantity
    factor: Decimal
    cautions: tuple[str, ...] = ()


def setting_for(
    target: Quantity, wrench: Quantity | None, adapter: Quantity, angle: Quantity = _STRAIGHT
) -> Adapted:
    """Give the setting that brings `target` to the fastener, in the target's unit.

    `wrench` is its effective length, None where nobody knows it; `adapter` the adapter's.
    Raises TorqueError where a length is missing, makes no sense, or is no length.
    """
    factor = _lever(wrench, adapter, angle)
    return _adapted(target.scaled(1 / factor), target, factor)


def target_of(
    setting: Quantity, wrench: Quantity | None, adapter: Quantity, angle: Quantity = _STRAIGHT
) -> Adapted:
    """Give what the fastener gets where the wrench is set to `setting`; see setting_for."""
    factor = _lever(wrench, adapter, angle)
    return _adapted(setting, setting.scaled(factor), factor)


def _adapted(setting: Quantity, target: Quantity, factor: Fraction) -> Adapted:
    cautions = () if factor == 1 else (CAUTIONS["grip"],)
    share = Quantity(value=Decimal(1), unit="%").scaled(factor).value
    return Adapted(setting=setting, target=target, factor=share, cautions=cautions)


def _lever(wrench: Quantity | None, adapter: Quantity, angle: Quantity) -> Fraction:
    """Give (L + E cos angle) / L, exactly for the usual angles."""
    cosine = _cosine(angle)
    reach = _positive("adapter", adapter) * cosine
    if not cosine:
        return Fraction(1)
    if wrench is None:
        raise TorqueError(
            "the wrench's effective length is not known, so no setting can be worked out",
            do="measure from its square to the middle of its grip, or set the adapter at 90 deg",
        )
    length = _positive("wrench", wrench)
    if length + reach <= 0:
        raise TorqueError(
            f"an adapter of {adapter} that points back is longer than the wrench of {wrench}",
            do="check both lengths",
        )
    return (length + reach) / length


def _positive(what: str, length: Quantity) -> Fraction:
    exact = length.exact("mm")
    if exact <= 0:
        raise TorqueError(f"the {what} length {length} is not above zero", do="measure it again")
    return exact


def _cosine(angle: Quantity) -> Fraction:
    degrees = abs(angle.exact("deg")) % 360
    folded = min(degrees, 360 - degrees)
    if folded in _COSINES:
        return _COSINES[int(folded)]
    return Fraction(math.cos(math.radians(folded)))
