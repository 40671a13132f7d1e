"""Torques in another unit, rounded for speech; what is written stays what counts."""

from typing import Final

from assistant.torque.plan import Act
from assistant.torque.rounding import rounded
from assistant.torque.units import Quantity, read_quantity

SPOKEN_STEPS: Final = {
    "N.m": "0.1 N.m",
    "lbf.in": "1 lbf.in",
    "lbf.ft": "0.1 lbf.ft",
    "kgf.m": "0.01 kgf.m",
    "kgf.cm": "1 kgf.cm",
}
"""How finely a converted torque is spoken; what is spoken so is said to be about that much."""


def torque_in(value: Quantity, unit: str) -> Quantity:
    """Give a torque in another unit as it is spoken, or as it is where that is its own."""
    return value if unit == value.unit else rounded(value.to(unit), read_quantity(SPOKEN_STEPS[unit]))


def act_in(act: Act, unit: str) -> Act:
    """Give an act with its torques in another unit; angles stay as they are."""
    changed = {
        name: torque_in(value, unit)
        for name, value in (("value", act.value), ("until", act.until))
        if isinstance(value, Quantity) and value.dimension == "torque"
    }
    return act.model_copy(update=changed)
