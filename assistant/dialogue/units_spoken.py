"""How units are said, in full, and which unit is meant by what was said."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final, NamedTuple

from assistant.errors import DialogueError


class SpokenUnit(NamedTuple):
    """One of a unit and many of it; `others` are further ways to say it that are understood."""

    one: str
    many: str
    others: tuple[str, ...] = ()


SPOKEN_UNITS: Final[Mapping[str, SpokenUnit]] = MappingProxyType(
    {
        "N.m": SpokenUnit("newton metre", "newton metres"),
        "N.cm": SpokenUnit("newton centimetre", "newton centimetres"),
        "daN.m": SpokenUnit("decanewton metre", "decanewton metres"),
        "lbf.in": SpokenUnit("inch pound", "inch pounds", ("pound inches", "pound inch")),
        "lbf.ft": SpokenUnit("foot pound", "foot pounds", ("pound feet", "pound foot")),
        "kgf.m": SpokenUnit("kilogram metre", "kilogram metres"),
        "kgf.cm": SpokenUnit("kilogram centimetre", "kilogram centimetres"),
        "ozf.in": SpokenUnit("inch ounce", "inch ounces", ("ounce inches",)),
        "um": SpokenUnit("micrometre", "micrometres", ("micron", "microns")),
        "mm": SpokenUnit("millimetre", "millimetres"),
        "cm": SpokenUnit("centimetre", "centimetres"),
        "m": SpokenUnit("metre", "metres"),
        "thou": SpokenUnit("thou", "thou", ("thousandth", "thousandths")),
        "in": SpokenUnit("inch", "inches"),
        "ft": SpokenUnit("foot", "feet"),
        "deg": SpokenUnit("degree", "degrees"),
        "turn": SpokenUnit("turn", "turns", ("a turn", "of a turn")),
        "flat": SpokenUnit("flat", "flats"),
        "s": SpokenUnit("second", "seconds"),
        "min": SpokenUnit("minute", "minutes"),
        "h": SpokenUnit("hour", "hours"),
        "%": SpokenUnit("percent", "percent"),
        "N": SpokenUnit("newton", "newtons"),
        "kN": SpokenUnit("kilonewton", "kilonewtons"),
        "lbf": SpokenUnit("pound", "pounds"),
        "bar": SpokenUnit("bar", "bar"),
        "kPa": SpokenUnit("kilopascal", "kilopascals"),
        "MPa": SpokenUnit("megapascal", "megapascals"),
        "psi": SpokenUnit("pound per square inch", "pounds per square inch"),
        "degC": SpokenUnit("degree celsius", "degrees celsius"),
        "degF": SpokenUnit("degree fahrenheit", "degrees fahrenheit"),
        "g": SpokenUnit("gram", "grams"),
        "kg": SpokenUnit("kilogram", "kilograms"),
        "ml": SpokenUnit("millilitre", "millilitres"),
        "L": SpokenUnit("litre", "litres"),
        "rpm": SpokenUnit("revolution per minute", "revolutions per minute"),
        "V": SpokenUnit("volt", "volts"),
    }
)
"""Every unit of `torque.spellings`, by its symbol. British spelling is said, both are understood."""

_SYMBOLS = {
    spelling: symbol
    for symbol, unit in SPOKEN_UNITS.items()
    for said in (unit.one, unit.many, *unit.others)
    for spelling in (said, said.replace("metre", "meter").replace("litre", "liter"))
}


def unit_of(words: str) -> str:
    """Give the symbol of a spoken unit: "inch pounds" is lbf.in. Raises DialogueError otherwise."""
    try:
        return _SYMBOLS[words]
    except KeyError:
        raise DialogueError(f"{words!r} is not a unit that is known") from None


def unit_words(symbol: str, value: Decimal | int) -> str:
    """Say a unit in full, as it goes with `value`: "newton metres", "inch" after "point zero three five".

    Raises DialogueError for a symbol that is none of the units.
    """
    if symbol not in SPOKEN_UNITS:
        raise DialogueError(f"there are no words for the unit {symbol!r}")
    unit = SPOKEN_UNITS[symbol]
    # Shops say "point zero three five inch" but "point eight nine millimetres".
    size = abs(Decimal(value))
    single = size == 1 or (symbol == "in" and 0 < size < 1)
    return unit.one if single else unit.many
