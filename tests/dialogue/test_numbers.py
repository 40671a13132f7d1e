from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dialogue.numbers import (
    digits_for,
    fraction_words,
    quantity_words,
    sounds_alike,
    unit_of,
    unit_words,
    value_of,
    words_for,
)
from assistant.dialogue.units_spoken import SPOKEN_UNITS
from assistant.errors import DialogueError
from assistant.torque.spellings import UNITS
from assistant.torque.units import read_quantity


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("zero", "0"),
        ("seven", "7"),
        ("twelve", "12"),
        ("thirty five", "35"),
        ("one hundred", "100"),
        ("one hundred ten", "110"),
        ("one hundred and ten", "110"),
        ("nine thousand nine hundred ninety nine", "9999"),
        ("two thousand and five", "2005"),
        ("twelve hundred", "1200"),
        ("twelve hundred fifty", "1250"),
        ("one hundred thousand", "100000"),
        # a digit and then a number
        ("one ten", "110"),
        ("two sixty", "260"),
        ("one twenty five", "125"),
        # digit by digit
        ("one one zero", "110"),
        ("two oh five", "205"),
        ("one oh", "10"),
        ("five five", "55"),
        # decimals
        ("point zero three five", "0.035"),
        ("zero point eight nine", "0.89"),
        ("oh point four", "0.4"),
        ("twelve point five", "12.5"),
        ("one ten point two", "110.2"),
        ("point oh oh two", "0.002"),
        # fractions
        ("half", "0.5"),
        ("a half", "0.5"),
        ("one half", "0.5"),
        ("quarter", "0.25"),
        ("three quarters", "0.75"),
        ("seven eighths", "0.875"),
        ("two sixty fourths", "0.03125"),
        ("one thirty second", "0.03125"),
        ("three thirty seconds", "0.09375"),
        ("twenty one sixty fourths", "0.328125"),
        ("three and a half", "3.5"),
        ("two and three quarters", "2.75"),
        ("one hundred and one half", "100.5"),
        ("minus point one", "-0.1"),
        ("minus three and a half", "-3.5"),
    ],
)
def test_what_is_said_has_its_value(said: str, value: str) -> None:
    """Every form in the module's table is understood, as text and as words."""
    assert value_of(said) == Decimal(value)
    assert value_of(said.split()) == Decimal(value)


@pytest.mark.parametrize(
    "said",
    [
        *("", "and", "a", "oh", "minus", "point", "hundred", "one hundred and", "and a half", "number"),
        *(
            "zero five",
            "oh five",
            "zero zero",
            "point thirty five",
            "twelve fifty",
            "twenty ten",
            "one point",
        ),
        *("ten hundred", "twenty hundred", "one quarters", "three quarter", "four quarters", "zero quarters"),
        *("one point", "five tenths", "zero and a half", "three a half", "one hundred hundred"),
        *(
            "twenty eleven",
            "one two hundred",
            "point five point five",
            "minus minus one",
            "one thousand thousand",
            "one hundred zero",
        ),
    ],
)
def test_what_could_be_meant_otherwise_is_refused(said: str) -> None:
    """What is not one number, or would be taken differently by two people, is no number."""
    with pytest.raises(DialogueError, match="is not a number"):
        value_of(said)


def test_a_third_keeps_every_digit_there_is() -> None:
    """Fractions without an end are kept to 28 digits and spoken as fractions again."""
    assert value_of("one third") == Decimal(1) / Decimal(3)
    assert quantity_words(read_quantity("1/3 turn")) == "one third of a turn"


@pytest.mark.parametrize(
    ("value", "words", "digits"),
    [
        ("0", "zero", "zero"),
        ("15", "fifteen", "one five"),
        ("110", "one hundred ten", "one one zero"),
        ("0.035", "point zero three five", "point zero three five"),
        ("12.5", "twelve point five", "one two point five"),
        ("0.40", "point four zero", "point four zero"),
        ("12.0", "twelve", "one two"),
        ("1E+2", "one hundred", "one zero zero"),
        ("-0.1", "minus point one", "minus point one"),
        ("2005", "two thousand five", "two zero zero five"),
    ],
)
def test_values_are_said_as_a_mechanic_does(value: str, words: str, digits: str) -> None:
    """No "and", no zero before the point, every written decimal."""
    assert words_for(Decimal(value)) == words
    assert digits_for(Decimal(value)) == digits


@given(
    st.decimals(min_value=-999_999, max_value=999_999, places=4) | st.integers(-999_999, 999_999).map(Decimal)
)
def test_what_is_said_is_understood_again(value: Decimal) -> None:
    """Words for a value give that value back."""
    assert value_of(words_for(value)) == value


@given(st.text("zeroonetwelvehundredpointandhalf ", max_size=30))
def test_any_other_text_is_a_clear_error(text: str) -> None:
    """Reading words never fails in any other way."""
    with suppress(DialogueError):
        assert value_of(text).is_finite()


def test_a_number_beyond_speech_is_refused() -> None:
    """Nobody follows a thousand million."""
    with pytest.raises(DialogueError, match="too large"):
        words_for(10**9)


@pytest.mark.parametrize("value", [13, 30, 15, 50, 19, 90, 113, 130, 1550, 13_000, 30_001, "15.5"])
def test_numbers_that_sound_alike_are_known(value: int | str) -> None:
    """Teens from thirteen on and the tens they are taken for, with hundreds before or decimals after."""
    assert sounds_alike(Decimal(value))


@pytest.mark.parametrize("value", [0, 5, 10, 11, 12, 20, 21, 35, 110, 120, 155, "0.15", "0.5"])
def test_other_numbers_are_not(value: int | str) -> None:
    """What is said digit by digit, or sounds like nothing else, needs no second reading."""
    assert not sounds_alike(Decimal(value))


@pytest.mark.parametrize(
    ("quantity", "words"),
    [
        ("110 lbf.in", "one hundred ten inch pounds"),
        ("1 lbf.ft", "one foot pound"),
        ("0.035 in", "point zero three five inch"),
        ("1.5 in", "one point five inches"),
        ("1 in", "one inch"),
        ("0 in", "zero inches"),
        ("12 N.m", "twelve newton metres"),
        ("0.89 mm", "point eight nine millimetres"),
        ("35 thou", "thirty five thou"),
        ("1/4 turn", "a quarter turn"),
        ("1/2 turn", "half a turn"),
        ("3/4 turn", "three quarters of a turn"),
        ("1/8 turn", "one eighth of a turn"),
        ("1 turn", "one turn"),
        ("1.5 turn", "one and a half turns"),
        ("2.75 turn", "two and three quarters turns"),
        ("0.1 turn", "point one turns"),
        ("90 deg", "ninety degrees"),
        ("45 min", "forty five minutes"),
        ("1 h", "one hour"),
        ("10 %", "ten percent"),
        ("2 bar", "two bar"),
        ("-0.1 mm", "minus point one millimetres"),
    ],
)
def test_quantities_are_said_in_full(quantity: str, words: str) -> None:
    """Value and unit as people say them, one or many."""
    assert quantity_words(read_quantity(quantity)) == words


def test_every_unit_has_its_words() -> None:
    """Whatever a procedure may be written in can be said and is understood."""
    assert set(SPOKEN_UNITS) == set(UNITS)
    for symbol in UNITS:
        assert unit_of(unit_words(symbol, 1)) == unit_of(unit_words(symbol, 2)) == symbol


@pytest.mark.parametrize(
    ("words", "symbol"),
    [("newton meters", "N.m"), ("pound feet", "lbf.ft"), ("of a turn", "turn"), ("thousandths", "thou")],
)
def test_other_ways_to_say_a_unit_are_understood(words: str, symbol: str) -> None:
    """American spelling, and what else people say."""
    assert unit_of(words) == symbol


def test_no_two_units_are_said_alike() -> None:
    """Each spoken form means one unit."""
    forms = [form for unit in SPOKEN_UNITS.values() for form in {unit.one, unit.many, *unit.others}]
    assert len(forms) == len(set(forms))


def test_unknown_units_are_refused() -> None:
    """Neither words nor symbols are guessed."""
    with pytest.raises(DialogueError, match="'furlongs' is not a unit"):
        unit_of("furlongs")
    with pytest.raises(DialogueError, match="no words for the unit 'X'"):
        unit_words("X", 1)


@pytest.mark.parametrize(
    ("above", "below", "words"),
    [(1, 4, "one quarter"), (2, 64, "two sixty fourths"), (1, 10, "one over ten"), (5, 4, "five over four")],
)
def test_fractions_are_said_where_they_have_a_name(above: int, below: int, words: str) -> None:
    """A denominator without a name is said so that it cannot be taken for a number: never "one ten"."""
    assert fraction_words(above, below) == words
