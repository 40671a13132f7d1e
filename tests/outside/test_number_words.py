"""Number words against num2words, a library of its own origin (https://github.com/savoirfairelinux/num2words)."""

import random
from decimal import Decimal

import pytest
from num2words import num2words

from assistant.dialogue.numbers import value_of, words_for
from assistant.hearing.words import words_of


def plain(value: int | Decimal) -> str:
    """Give num2words' words without its commas, hyphens and "and", which workshops leave out."""
    return " ".join(word for word in words_of(num2words(value)) if word != "and")


def test_whole_numbers_are_said_as_num2words_says_them() -> None:
    """Every number from 0 to 9999, in the same words."""
    assert [n for n in range(10_000) if words_for(n) != plain(n)] == []


def test_whole_numbers_are_understood_as_num2words_says_them() -> None:
    """Every number from 0 to 9999, with and without "and"."""
    assert [n for n in range(10_000) if value_of(words_of(num2words(n))) != n] == []
    assert [n for n in range(10_000) if value_of(plain(n)) != n] == []


@pytest.mark.parametrize("places", [2, 3, 4])
def test_decimals_are_said_and_understood_as_num2words_says_them(places: int) -> None:
    """Two to four decimals: the same words, save for the zero before the point that nobody says."""
    choose = random.Random(places)
    below_one = choose.sample(range(1, 10**places), min(10**places - 1, 1500))
    for figures in [*below_one, *(choose.randrange(10 ** (places + 4)) for _ in range(1500))]:
        value = Decimal(figures).scaleb(-places)
        theirs = plain(value)
        assert value_of(theirs) == value
        assert value_of(words_for(value)) == value
        if value != int(value):
            # num2words leaves off zeros at the end, where we say what was written.
            assert words_for(value.normalize()) == theirs.removeprefix("zero ")


def test_only_proper_names_differ() -> None:
    """The named fractions that num2words has as ordinals are the ones we say."""
    for below, single in {3: "third", 6: "sixth", 8: "eighth", 12: "twelfth", 16: "sixteenth"}.items():
        assert num2words(below, to="ordinal") == single
        assert value_of(f"one {single}") == value_of(f"a {single}")
    for below in (32, 64):
        single = " ".join(words_of(num2words(below, to="ordinal")))
        assert value_of(f"one {single}") * below == 1
