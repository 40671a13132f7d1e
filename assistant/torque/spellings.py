"""The units of this trade: what each measures, pint's name for it, and how people spell it."""

import re
from itertools import product
from typing import NamedTuple


class Unit(NamedTuple):
    """One canonical unit; `spellings` are others than its symbol, without plurals in s."""

    dimension: str
    pint_name: str
    spellings: tuple[str, ...] = ()


def plain(spelling: str) -> str:
    """Take out of a spelling what makes no difference: case, joints, plural s, -meter and -metre."""
    joined = re.sub(r"[\s·⋅∙•*_.-]+", ".", spelling.strip().casefold()).strip(".")
    singular = re.sub(r"(?<=\w\w)s(?=\.|$)", "", joined)
    return singular.replace("meter", "metre").replace("liter", "litre")


def _pairs(forces: str, lengths: str) -> tuple[str, ...]:
    """Spell a torque unit force first and length first, joined and apart."""
    both = [
        pair for f, length in product(forces.split(), lengths.split()) for pair in ((f, length), (length, f))
    ]
    return tuple(joint.join(pair) for pair in both for joint in (".", ""))


_POUND = "lbf lb lbs pound pounds pound.force"
_KILOPOND = "kgf kg kp kilopond kilogram.force kilogram"
_INCH = "in inch inches"

UNITS: dict[str, Unit] = {
    "N.m": Unit("torque", "newton * meter", ("nm", "newton.metre", "newtonmetre")),
    "N.cm": Unit("torque", "newton * centimeter", ("ncm", "newton.centimetre")),
    "daN.m": Unit("torque", "decanewton * meter", ("danm", "m.dan", "mdan")),
    "lbf.in": Unit("torque", "pound_force * inch", _pairs(_POUND, _INCH)),
    "lbf.ft": Unit("torque", "pound_force * foot", _pairs(_POUND, "ft foot feet")),
    "kgf.m": Unit("torque", "kilogram_force * meter", _pairs(_KILOPOND, "m metre")),
    "kgf.cm": Unit("torque", "kilogram_force * centimeter", _pairs(_KILOPOND, "cm centimetre")),
    "ozf.in": Unit("torque", "ounce_force * inch", _pairs("ozf oz ounce", _INCH)),
    "um": Unit("length", "micrometer", ("µm", "micron", "micrometre")),
    "mm": Unit("length", "millimeter", ("millimetre",)),
    "cm": Unit("length", "centimeter", ("centimetre",)),
    "m": Unit("length", "meter", ("metre",)),
    "thou": Unit("length", "thou", ("mil", "thousandth")),
    "in": Unit("length", "inch", ("inch", "inches", '"', "″")),
    "ft": Unit("length", "foot", ("foot", "feet")),
    "deg": Unit("angle", "degree", ("°", "degree")),
    "turn": Unit("angle", "turn", ("rev", "revolution")),
    "flat": Unit("angle", "flat"),
    "s": Unit("time", "second", ("sec", "second")),
    "min": Unit("time", "minute", ("minute",)),
    "h": Unit("time", "hour", ("hr", "hour")),
    "%": Unit("share", "percent", ("percent", "per.cent")),
    "N": Unit("force", "newton", ("newton",)),
    "kN": Unit("force", "kilonewton", ("kilonewton",)),
    "lbf": Unit("force", "pound_force", ("pound.force",)),
    "bar": Unit("pressure", "bar"),
    "kPa": Unit("pressure", "kilopascal", ("kilopascal",)),
    "MPa": Unit("pressure", "megapascal", ("megapascal", "n/mm2", "n/mm²")),
    "psi": Unit("pressure", "psi", ("lbf/in2", "pounds.per.square.inch")),
    "degC": Unit("temperature", "degree_Celsius", ("°c", "deg.c", "degree.c", "celsius", "degree.celsius")),
    "degF": Unit("temperature", "degree_Fahrenheit", ("°f", "deg.f", "degree.f", "fahrenheit")),
    "g": Unit("mass", "gram", ("gram",)),
    "kg": Unit("mass", "kilogram", ("kilogram",)),
    "ml": Unit("volume", "milliliter", ("cc", "cm3", "millilitre")),
    "L": Unit("volume", "liter", ("litre",)),
    "rpm": Unit("speed", "revolutions_per_minute", ("r/min", "rev/min")),
    "V": Unit("voltage", "volt", ("volt",)),
}

INCH_UNITS: frozenset[str] = frozenset(
    {"lbf.in", "lbf.ft", "ozf.in", "thou", "in", "ft", "lbf", "psi", "degF"}
)
"""The symbols that are not metric; all others are, or belong to both."""

#: Symbols by plain spelling.
SYMBOLS = {
    plain(spelling): symbol for symbol, unit in UNITS.items() for spelling in (symbol, *unit.spellings)
}

#: The unit that stands as the example where a dimension's unit is missing or wrong.
EXAMPLES = {unit.dimension: symbol for symbol, unit in reversed(UNITS.items())} | {
    "length": "mm",
    "time": "min",
    "force": "kN",
}

FRACTIONS = {"quarter": "1/4", "half": "1/2", "third": "1/3", "sixth": "1/6", "eighth": "1/8"} | {
    "three quarter": "3/4",
    "three-quarter": "3/4",
    "two third": "2/3",
}
