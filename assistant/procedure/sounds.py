"""The sounds of American English as the CMU dictionary writes them, in which an author may say how a word sounds.

pronounce: {caliper: K AE L AH P ER}
"""

from typing import Annotated, Final

from pydantic import BeforeValidator

_VOWELS: Final = "AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW"
_CONSONANTS: Final = "B CH D DH F G HH JH K L M N NG P R S SH T TH V W Y Z ZH"

VOWELS: Final = frozenset(_VOWELS.split())
CONSONANTS: Final = frozenset(_CONSONANTS.split())
"""The 39 sounds of the CMU Pronouncing Dictionary 0.7b, without stress."""


def read_sounds(text: str) -> tuple[str, ...]:
    """Read a row of sounds; figures of stress are left out. Raises ValueError for what is no sound."""
    sounds = tuple(sound.rstrip("012") for sound in text.upper().split())
    if unknown := [sound for sound in sounds if sound not in VOWELS | CONSONANTS]:
        raise ValueError(
            f"{unknown[0]!r} is none of the sounds of the CMU dictionary; write them as K AE L AH P ER"
        )
    if not sounds:
        raise ValueError("no sounds are given; write them as K AE L AH P ER")
    return sounds


def _sounds(value: object) -> object:
    return read_sounds(value) if isinstance(value, str) else value


Sounds = Annotated[tuple[str, ...], BeforeValidator(_sounds)]
"""How a word sounds."""
