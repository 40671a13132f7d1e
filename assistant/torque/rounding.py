"""Rounding a quantity to what can be set and said, never silently out of its tolerance."""

from fractions import Fraction

from assistant.errors import TorqueError
from assistant.torque.units import Quantity


def rounded(quantity: Quantity, step: Quantity) -> Quantity:
    """Round to whole steps, half away from zero, in the unit of the step.

    Raises TorqueError where the two measure different things or the step is not above zero.
    """
    if step.value <= 0:
        raise TorqueError(f"{step} is no step to round to", do="write one above zero")
    steps = quantity.exact(step.unit) / Fraction(step.value)
    whole = int(abs(steps) + Fraction(1, 2))  # half up, where round() would go to the even one
    return Quantity(value=step.value * (whole if steps >= 0 else -whole), unit=step.unit)


def for_wrench(target: Quantity, resolution: Quantity, tolerance: Quantity) -> Quantity:
    """Round a target to what the wrench can be set to.

    `tolerance` is a share of the target or a torque. Raises TorqueError where the nearest
    setting lies outside it: a value is never bent silently to suit the tool.
    """
    setting = rounded(target, resolution)
    off = abs(setting.exact(target.unit) - Fraction(target.value))
    allowed = (
        Fraction(tolerance.value) / 100 * Fraction(target.value)
        if tolerance.dimension == "share"
        else tolerance.exact(target.unit)
    )
    if off > allowed:
        raise TorqueError(
            f"a wrench that moves in steps of {resolution} cannot be set within {tolerance} of {target}"
            f" (nearest {setting})",
            do="take a finer wrench",
        )
    return setting
