"""Numbers as a mechanic says them, and their values.

What is understood, and as what:

| said | value | because |
|---|---|---|
| one hundred ten, one hundred and ten | 110 | a number in full; "and" is not needed |
| twelve hundred | 1200 | hundreds up to ninety nine of them, never ten, twenty ... |
| one ten, two sixty, one twenty five | 110, 260, 125 | one digit, then a number from ten to ninety nine |
| one one zero, two oh five | 110, 205 | digit by digit; the first is never zero |
| point zero three five, oh point four | 0.035, 0.4 | after the point, digits only |
| twelve point five | 12.5 | |
| a half, three quarters, two sixty fourths | 1/2, 3/4, 2/64 | the denominator comes last |
| three and a half | 3.5 | a fraction after a whole number needs "and" |
| minus point one | -0.1 | |

Refused, since two people would take them differently: "zero five" (5 or 0.05), "point thirty
five" (0.35 or 0.035 hurried), "twelve fifty" (12.50 or 1250), and tenths as a fraction (of an
inch, or the ten-thousandths that a machinist calls so).
"""

from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from typing import Final

from num2words import num2words

from assistant.dialogue.units_spoken import unit_of, unit_words
from assistant.errors import DialogueError
from assistant.torque.units import Quantity

__all__ = [
    "digits_for",
    "fraction_words",
    "quantity_words",
    "sounds_alike",
    "unit_of",
    "unit_words",
    "value_of",
    "words_for",
]

_DIGITS: Final = tuple(num2words(number) for number in range(10))
_TEENS: Final = tuple(num2words(number) for number in range(10, 20))
_TENS: Final = tuple(num2words(number) for number in range(20, 100, 10))
_DIGIT_VALUES = {word: value for value, word in enumerate(_DIGITS)} | {"oh": 0}
_SMALL = {word: value for value, word in enumerate([*_DIGITS, *_TEENS])}
_TEN_VALUES = {word: 10 * value for value, word in enumerate(_TENS, start=2)}
_DENOMINATORS = {
    2: ("half", "halves"),
    3: ("third", "thirds"),
    4: ("quarter", "quarters"),
    6: ("sixth", "sixths"),
    8: ("eighth", "eighths"),
    12: ("twelfth", "twelfths"),
    16: ("sixteenth", "sixteenths"),
    32: ("thirty second", "thirty seconds"),
    64: ("sixty fourth", "sixty fourths"),
}
_PART_OF_TURN = {Fraction(1, 2): "half a turn", Fraction(1, 4): "a quarter turn"}
_FINE = (32, 64)
_LARGEST = 10**9
_EXACT = Context(prec=28, rounding=ROUND_HALF_UP)
_SAME = Fraction(1, 10**20)  # a third that was written with 28 digits is still a third


# words to values


def value_of(words: str | Sequence[str]) -> Decimal:
    """Give the value of a spoken number (see the table above); thirds and the like to 28 digits.

    Raises DialogueError for anything that is not one number, whole.
    """
    said = words.split() if isinstance(words, str) else list(words)
    negative = said[:1] == ["minus"]
    value = _number(said[1:] if negative else said)
    if value is None:
        raise DialogueError(f"{' '.join(said)!r} is not a number", do='say it like "one hundred ten"')
    exact = _EXACT.divide(Decimal(value.numerator), Decimal(value.denominator))
    return -exact if negative else exact


def _number(said: list[str]) -> Fraction | None:
    if "point" in said:
        return _decimal(said)
    whole = _whole(said)
    return _mixed(said) if whole is None else Fraction(whole)


def _decimal(said: list[str]) -> Fraction | None:
    at = said.index("point")
    before, after = said[:at], said[at + 1 :]
    whole = 0 if before in ([], ["oh"]) else _whole(before)
    if whole is None or not after or not set(after) <= set(_DIGIT_VALUES):
        return None
    return whole + Fraction(int(_figures(after)), 10 ** len(after))


def _mixed(said: list[str]) -> Fraction | None:
    if "and" not in said:
        return _fraction(said)
    at = len(said) - 1 - said[::-1].index("and")
    whole, part = _whole(said[:at]), _fraction(said[at + 1 :])
    return None if not whole or part is None else whole + part


def _fraction(said: list[str]) -> Fraction | None:
    for below, (one, many) in _DENOMINATORS.items():
        for name in (one, many):
            tail = name.split()
            if said[-len(tail) :] == tail:
                above = _numerator(said[: -len(tail)])
                fits = above and above < below and (above == 1) == (name == one)
                return Fraction(above or 0, below) if fits else None
    return None


def _numerator(said: list[str]) -> int | None:
    return 1 if said in ([], ["a"]) else _cardinal(said)


def _whole(said: list[str]) -> int | None:
    for read in (_cardinal, _paired, _digit_by_digit):
        value = read(said)
        if value is not None:
            return value
    return None


def _paired(said: list[str]) -> int | None:
    hundreds, rest = _SMALL.get(said[0], 0) if said else 0, _below_hundred(said[1:])
    return 100 * hundreds + rest if 0 < hundreds < 10 and rest is not None and rest >= 10 else None  # noqa: PLR2004


def _digit_by_digit(said: list[str]) -> int | None:
    known = len(said) > 1 and set(said) <= set(_DIGIT_VALUES)
    return int(_figures(said)) if known and _DIGIT_VALUES[said[0]] else None


def _figures(said: list[str]) -> str:
    return "".join(str(_DIGIT_VALUES[word]) for word in said)


def _cardinal(said: list[str]) -> int | None:
    if "thousand" not in said:
        return _hundreds(said)
    return _grouped(said, "thousand", 1000, _hundreds)


def _hundreds(said: list[str]) -> int | None:
    if "hundred" not in said:
        return _below_hundred(said)
    value = _grouped(said, "hundred", 100, _below_hundred)
    # "Twelve hundred" is said, "ten hundred" and "twenty hundred" are slips.
    return None if value is None or (value // 100 > 9 and value // 100 % 10 == 0) else value  # noqa: PLR2004


def _grouped(said: list[str], group: str, size: int, read: Callable[[list[str]], int | None]) -> int | None:
    """Read "<count> <group> [and] <rest>", where the rest is less than one group."""
    at = said.index(group)
    count, rest = read(said[:at]), said[at + 1 :]
    if not rest:
        return count * size if count else None
    remainder = read(rest[1:] if rest[0] == "and" else rest)
    if not count or not remainder or remainder >= size:
        return None
    return count * size + remainder


def _below_hundred(said: list[str]) -> int | None:
    if len(said) == 1:
        return _SMALL.get(said[0], _TEN_VALUES.get(said[0]))
    if len(said) != 2:  # noqa: PLR2004
        return None
    tens, ones = _TEN_VALUES.get(said[0], 0), _SMALL.get(said[1], 0)
    return tens + ones if tens and 0 < ones < 10 else None  # noqa: PLR2004


# values to words


def words_for(value: Decimal | int) -> str:
    """Say a number: 110 is "one hundred ten", 0.035 "point zero three five", 12.50 "twelve point five zero".

    The digits are said as they are written, save that a whole number is said as one (12.0 is
    "twelve"). Raises DialogueError from a thousand million on, which nobody would follow.
    """
    if abs(Decimal(value)) >= _LARGEST:
        raise DialogueError(f"{value} is too large to be said")
    whole, decimals = _parts(value)
    spoken = _whole_words(int(whole)) if int(whole) or not decimals else ""
    after = f"point {_each(decimals)}" if decimals else ""
    sign = "minus" if value < 0 else ""
    return " ".join(part for part in (sign, spoken, after) if part)


def digits_for(value: Decimal | int) -> str:
    """Say the digits singly: 15 is "one five", 12.5 "one two point five"."""
    whole, decimals = _parts(value)
    before = _each(whole) if int(whole) or not decimals else ""
    after = f"point {_each(decimals)}" if decimals else ""
    return " ".join(part for part in ("minus" if value < 0 else "", before, after) if part)


def sounds_alike(value: Decimal | int) -> bool:
    """Tell whether the words can be taken for another number: fifteen and fifty, 113 and 130.

    Those are the teens from thirteen on and the tens from thirty on, wherever they end a group.
    """
    whole, _ = _parts(value)
    endings = [int(whole[:-3] or 0) % 100, int(whole) % 100]
    return any(end in range(13, 20) or end in range(30, 100, 10) for end in endings)


def fraction_words(above: int, below: int) -> str:
    """Say a proper fraction: "one quarter", "two sixty fourths"; other denominators as "one over seven"."""
    if below in _DENOMINATORS and 0 < above < below:
        one, many = _DENOMINATORS[below]
        return f"{words_for(above)} {one if above == 1 else many}"
    return f"{words_for(above)} over {words_for(below)}"


def quantity_words(quantity: Quantity) -> str:
    """Say a value with its unit in full: "one hundred ten inch pounds", "three quarters of a turn"."""
    part = _part_of_turn(quantity.value) if quantity.unit == "turn" else None
    if part is not None:
        return _turn_words(part)
    if quantity.unit == "in" and (part := _part_of_rule(quantity.value)):
        return f"{fraction_words(part.numerator, part.denominator)} of an inch"
    return f"{words_for(quantity.value)} {unit_words(quantity.unit, quantity.value)}"


def _parts(value: Decimal | int) -> tuple[str, str]:
    """Give the figures before and after the point; none after it where the number is whole."""
    whole, _, decimals = f"{abs(Decimal(value)):f}".partition(".")
    return whole, decimals if decimals.strip("0") else ""


def _whole_words(whole: int) -> str:
    spoken = str(num2words(whole)).replace("-", " ").replace(",", "")
    return " ".join(word for word in spoken.split() if word != "and")


def _each(figures: str) -> str:
    return " ".join(_DIGITS[int(figure)] for figure in figures)


def _part_of_turn(value: Decimal) -> Fraction | None:
    exact = Fraction(value)
    near = exact.limit_denominator(12)
    said = near.denominator in _DENOMINATORS and near > 0 and abs(near - exact) < _SAME
    return near if said else None


def _part_of_rule(value: Decimal) -> Fraction | None:
    """Give thirty-seconds and sixty-fourths below one, which nobody follows as decimals."""
    part = Fraction(value)
    return part if 0 < part < 1 and part.denominator in _FINE else None


def _turn_words(turns: Fraction) -> str:
    whole = int(turns)
    part = turns - whole
    if not whole:
        return _PART_OF_TURN.get(part) or f"{fraction_words(part.numerator, part.denominator)} of a turn"
    words = fraction_words(part.numerator, part.denominator)
    return f"{words_for(whole)} and {words.replace('one', 'a', 1) if part.numerator == 1 else words} turns"
