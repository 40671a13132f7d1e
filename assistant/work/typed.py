"""What is typed on the command line without quotation marks, brought together again."""

import re
from collections.abc import Sequence

from assistant.errors import TorqueError
from assistant.torque.units import Quantity, read_quantity


def unquoted(words: Sequence[str]) -> tuple[Quantity, str | None]:
    """Give the quantity and the unit wanted of words that need no quotes: 20 foot pounds to N.m.

    The quantity is as many of the words as make one. Raises TorqueError where none do.
    """
    given = " ".join(words).split()
    for end in range(len(given), 0, -1):
        try:
            quantity = read_quantity(" ".join(given[:end]))
        except TorqueError:
            continue
        return quantity, " ".join(word for word in given[end:] if word != "to") or None
    return read_quantity(" ".join(given[:2])), None  # tells what is wrong with it


def whole_class(written: str, rest: list[str]) -> tuple[str, list[str]]:
    """Take from the words after it what belongs to a class that came without quotes: SAE 5, SAE grade 8."""
    while rest and not any(letter.isdigit() for letter in written):
        written, rest = f"{written} {rest[0]}", rest[1:]
    return written, rest


def in_degrees(angle: str) -> str:
    """Give an angle that came without its unit in degrees."""
    return f"{angle} deg" if re.fullmatch(r"[-+]?\d*\.?\d+\s*", angle) else angle
