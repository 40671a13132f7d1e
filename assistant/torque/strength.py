"""What a torque does to a fastener, and whether a written value can be meant.

A torque is a poor measure of preload: most of it goes into friction, which nobody knows well. The
short form T = K F d takes all of it into one factor K; so every judgement here is made for a range
of K, and says so. It finds slips of the pen (units, above all); it does not design a joint.
"""

import math
from collections.abc import Callable
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from typing import Literal, NamedTuple, TypeAlias, get_args

from pydantic import BaseModel, ConfigDict

from assistant.errors import TorqueError
from assistant.torque.threads import Thread, proof_load_kn, read_class, read_thread
from assistant.torque.units import Quantity

Finding: TypeAlias = Literal["plausible", "low", "high", "beyond proof", "unit slip", "shallow"]
Material: TypeAlias = Literal["steel", "cast iron", "aluminium"]


class Band(NamedTuple):
    """A value that is not well known: from, usually, to."""

    least: float
    usual: float
    most: float


#: K by condition (common practice, no source); "" where nobody said.
FRICTION_FACTORS: dict[str, Band] = {
    "dry": Band(0.15, 0.20, 0.25),
    "plated": Band(0.15, 0.19, 0.24),
    "oiled": Band(0.12, 0.16, 0.20),
    "threadlocker": Band(0.12, 0.16, 0.22),
    "sealant": Band(0.12, 0.16, 0.22),
    "anti-seize": Band(0.10, 0.13, 0.17),
    "waxed": Band(0.09, 0.12, 0.15),
    "": Band(0.12, 0.20, 0.25),
}

#: Tightening factor (largest preload / smallest) by method: VDI 2230 (from memory); by feel: common practice.
SCATTER: dict[str, tuple[float, float]] = {
    "yield": (1.2, 1.4),
    "angle": (1.2, 1.4),
    "torque wrench, friction measured": (1.4, 1.6),
    "torque wrench": (1.6, 2.5),
    "impact wrench": (2.5, 4.0),
    "by feel": (2.0, 4.0),
}

# Shares of the proof load, at the usual friction, between which a value is believed. Published tables go up to
# 90 % of the yield point at high friction, which the short form makes a tenth more than the proof load.
_LOW, _HIGH = 0.15, 1.10
_FAR_BEYOND = 2.0
# Engagement in diameters that holds any usual fastener, and shear strength in MPa of the weakest
# usual alloy or iron (common practice, no source). None: as strong as the fastener.
_ENGAGEMENT: dict[Material, tuple[float, float | None]] = {
    "steel": (1.0, None),
    "cast iron": (1.25, 140.0),
    "aluminium": (2.0, 110.0),
}
# Below so many diameters a thread is called shallow, whatever the torque (common practice, no source).
_SHALLOW: dict[Material, float] = {"steel": 0.0, "cast iron": 1.0, "aluminium": 1.5}
# An internal thread shears on this share of its cylinder (ISO basic profile: 7/8).
_SHEARED_SHARE = 0.875
# What is written by whom who meant the other, the likeliest first.
_SLIPS: dict[str, tuple[str, ...]] = {
    "lbf.ft": ("lbf.in", "N.m"),
    "lbf.in": ("lbf.ft", "N.m"),
    "N.m": ("kgf.m", "lbf.in", "N.cm", "kgf.cm"),
    "N.cm": ("N.m",),
    "kgf.m": ("N.m", "kgf.cm", "lbf.ft"),
    "kgf.cm": ("kgf.m", "N.m"),
    "ozf.in": ("lbf.in",),
    "daN.m": ("N.m",),
}
_PEOPLE_SAY = {
    "lbf.ft": "foot pounds",
    "lbf.in": "inch pounds",
    "N.m": "newton metres",
    "N.cm": "newton centimetres",
    "kgf.m": "kilogram-force metres",
    "kgf.cm": "kilogram-force centimetres",
    "ozf.in": "inch ounces",
    "daN.m": "decanewton metres",
}


class Verdict(BaseModel):
    """What a written torque looks like.

    `share_of_proof` is the preload over the load that the joint bears, with much, usual and little
    friction. `low` and `high` bound what would be plausible, in the unit written. `meant` is the
    same number in the unit that was probably meant.
    """

    model_config = ConfigDict(frozen=True)

    finding: Finding
    text: str
    share_of_proof: tuple[float, float, float]
    low: Quantity
    high: Quantity
    meant: Quantity | None = None

    @property
    def clean(self) -> bool:
        """Whether there is nothing to find."""
        return self.finding == "plausible"


def torque_nm(preload_kn: float, diameter_mm: float, friction_factor: float) -> float:
    """Short form: T = K F d, in N.m."""
    return friction_factor * preload_kn * diameter_mm


def torque_long_nm(
    preload_kn: float,
    thread: Thread,
    *,
    thread_friction: float,
    bearing_friction: float,
    bearing_diameter_mm: float | None = None,
) -> float:
    """Long form (VDI 2230): T = F (P/2 pi + mu_t d2 / 2 cos 30 + mu_b D/2), in N.m.

    `bearing_diameter_mm` is the mean diameter under the head: 1.3 d where it is not given.
    """
    under_head_mm = bearing_diameter_mm or 1.3 * thread.diameter_mm
    arm_mm = (
        thread.pitch_mm / (2 * math.pi)
        + thread_friction * thread.pitch_diameter_mm / (2 * math.cos(math.radians(30)))
        + bearing_friction * under_head_mm / 2
    )
    return preload_kn * arm_mm


def preload_kn(torque: Quantity, thread: Thread, friction_factor: float) -> float:
    """Give the preload in kN that a torque brings by the short form."""
    return float(torque.exact("N.m")) / (friction_factor * thread.diameter_mm)


def scatter_kn(usual_kn: float, method: str) -> tuple[float, float]:
    """Give the least and the most preload to expect of a method, round its usual preload, in kN.

    Raises TorqueError for a method that is not listed.
    """
    if method not in SCATTER:
        raise TorqueError(f"{method!r} is no known method", do=f"write one of {', '.join(SCATTER)}")
    widest = SCATTER[method][1]
    least_kn = 2 * usual_kn / (1 + widest)
    return least_kn, least_kn * widest


def engagement_mm(thread: Thread, material: Material) -> float:
    """Give the engagement length that holds any usual fastener in that material (common practice)."""
    return _ENGAGEMENT[material][0] * thread.diameter_mm


def bearable_kn(
    thread: Thread, property_class: str, material: Material = "steel", engagement: Quantity | None = None
) -> float:
    """Give what the joint bears in kN: the fastener's proof load, or what strips the tapped thread if less.

    Without an engagement length, that of engagement_mm is taken.
    """
    proof_kn = proof_load_kn(thread, property_class)
    shear_mpa = _ENGAGEMENT[material][1]
    if shear_mpa is None:
        return proof_kn
    length_mm = float(engagement.exact("mm")) if engagement else engagement_mm(thread, material)
    return min(proof_kn, _SHEARED_SHARE * math.pi * thread.diameter_mm * length_mm * shear_mpa / 1000)


def judge(
    thread: str,
    property_class: str,
    torque: Quantity,
    condition: str | None = None,
    *,
    material: Material = "steel",
    engagement: Quantity | None = None,
) -> Verdict:
    """Judge a written torque for a thread, class and condition, by the short form.

    Raises TorqueError for an unknown thread, class or condition.
    """
    known, factors = read_thread(thread), _factors(condition)
    bearable = bearable_kn(known, property_class, material, engagement)

    def spread(value: Quantity) -> tuple[float, float, float]:
        much, usual, little = (preload_kn(value, known, factor) / bearable for factor in reversed(factors))
        return much, usual, little

    shares = spread(torque)
    finding, meant = _found(shares), _meant(torque, spread)
    proof_nm = torque_nm(bearable, known.diameter_mm, factors.usual)
    low = _shown(_LOW * proof_nm, torque.unit, ROUND_CEILING)
    high = _shown(_HIGH * proof_nm, torque.unit, ROUND_FLOOR)
    load = f"{finding}, about {shares[1]:.0%} of what the joint bears; {low} to {high} would be plausible"
    if engagement and float(engagement.exact("mm")) < _SHALLOW[material] * known.diameter_mm:
        depth = f"{engagement} of thread engaged, {engagement_mm(known, material):.3g} mm would be usual"
        load, finding = f"{load}; only {depth}", "shallow" if finding == "plausible" else finding
    slip = f"looks like {_PEOPLE_SAY[meant.unit]} written as {_PEOPLE_SAY[torque.unit]}" if meant else ""
    return Verdict(
        finding="unit slip" if meant else finding,
        text=f"{torque} on {known.name} {read_class(property_class)}: {f'{slip} ({load})' if slip else load}",
        share_of_proof=shares,
        low=low,
        high=high,
        meant=meant,
    )


def read_material(written: str) -> Material:
    """Give the material by its name, in either English; TorqueError where it is not known."""
    known: tuple[Material, ...] = get_args(Material)
    plain = written.casefold().replace("-", " ").replace("aluminum", "aluminium")
    if found := [material for material in known if material == plain]:
        return found[0]
    raise TorqueError(f"{written!r} is no known material", do=f"write one of {', '.join(known)}")


def _factors(condition: str | None) -> Band:
    if (condition or "") not in FRICTION_FACTORS:
        listed = ", ".join(name for name in FRICTION_FACTORS if name)
        raise TorqueError(f"{condition!r} is no known condition", do=f"write one of {listed}")
    return FRICTION_FACTORS[condition or ""]


def _found(shares: tuple[float, float, float]) -> Finding:
    """Judge by the usual friction; beyond proof only where even much friction does not save it."""
    if shares[0] > 1:
        return "beyond proof"
    if shares[1] > _HIGH:
        return "high"
    return "low" if shares[1] < _LOW else "plausible"


def _meant(torque: Quantity, spread: Callable[[Quantity], tuple[float, float, float]]) -> Quantity | None:
    """Give the same number in the unit that makes sense of it, if one is often mixed up with this one.

    Only for a value that is out by far: a little too much is not a slip of the unit.
    """
    if _LOW <= spread(torque)[1] <= _FAR_BEYOND:
        return None
    others = (Quantity(value=torque.value, unit=unit) for unit in _SLIPS.get(torque.unit, ()))
    return next((other for other in others if _found(spread(other)) in ("plausible", "high")), None)


def _shown(newton_metres: float, unit: str, rounding: str) -> Quantity:
    """Give a bound to the two digits that friction allows, rounded to where it is still plausible."""
    value = Quantity(value=Decimal(newton_metres), unit="N.m").exact(unit)
    digits = Context(prec=2, rounding=rounding).create_decimal(Decimal(float(value)))
    return Quantity(value=Decimal(f"{digits:f}"), unit=unit)
