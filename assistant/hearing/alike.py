"""How easily two names are taken for each other: the cost of turning the sounds of one into those of the other.

What noise takes first is cheap. Where a consonant is made (place) is lost first, whether it is voiced or nasal last:
Miller and Nicely, J. Acoust. Soc. Am. 27 (1955) 338, from memory. The numbers themselves, and which vowels are near,
are common practice, no source; known pairs are held in a test.
"""

from collections.abc import Sequence
from typing import Final

from assistant.hearing.pronouncing import Pronunciation
from assistant.procedure.sounds import VOWELS

TOO_ALIKE: Final = 0.25
"""Names nearer than this, as a share of their length, are taken for each other."""

_PLACE, _VOICE, _BOTH, _MANNER, _FAR = 0.35, 0.45, 0.7, 0.8, 1.0
_NEAR_VOWEL, _OTHER_VOWEL, _VOWEL_FOR_CONSONANT = 0.3, 0.65, 1.2
_LOST, _LOST_WEAK = 0.65, 0.45
_WEAK: Final = frozenset({"AH", "HH", "T", "D", "TH", "DH", "F", "V"})
"""Sounds that are lost most easily."""

# manner, place from front to back, voiced
_CONSONANTS: Final = {
    sound: (manner, place, voiced)
    for manner, row in {
        "stop": "P:lip B:lip:v T:gum D:gum:v K:back G:back:v",
        "hiss": "F:lip V:lip:v TH:tooth DH:tooth:v S:gum Z:gum:v SH:roof ZH:roof:v HH:throat",
        "burst": "CH:roof JH:roof:v",
        "nose": "M:lip:v N:gum:v NG:back:v",
        "glide": "W:lip:v L:gum:v R:roof:v Y:front:v",
    }.items()
    for sound, place, voiced in ((*each.split(":"), "")[:3] for each in row.split())
}

_NEAR: Final = """
IY/IH IH/EH EH/AE AE/AH AH/AA AA/AO AO/OW AH/UH UH/UW AH/IH AH/EH AH/ER EY/EH EY/IY EY/AY AY/OY AW/OW
AW/AA AY/AA OW/UW UH/OW ER/AO ER/UH IH/EY AE/AA AH/AO
"""
_NEAR_VOWELS: Final = frozenset(frozenset(pair.split("/")) for pair in _NEAR.split())


def substitution(one: str, other: str) -> float:
    """Give what it costs to hear one sound for another: 0 for the same, above 1 for a vowel and a consonant."""
    if one == other:
        return 0.0
    if one in VOWELS and other in VOWELS:
        return _NEAR_VOWEL if frozenset({one, other}) in _NEAR_VOWELS else _OTHER_VOWEL
    if one in VOWELS or other in VOWELS:
        return _VOWEL_FOR_CONSONANT
    manner, place, voiced = (a == b for a, b in zip(_CONSONANTS[one], _CONSONANTS[other], strict=True))
    if manner:
        return _PLACE if voiced else (_VOICE if place else _BOTH)
    return _MANNER if place else _FAR


def _loss(sound: str) -> float:
    return _LOST_WEAK if sound in _WEAK else _LOST


def cost(one: Sequence[str], other: Sequence[str]) -> float:
    """Give the least cost of hearing one row of sounds for another, sound by sound."""
    row = [0.0]
    for sound in other:
        row.append(row[-1] + _loss(sound))
    for mine in one:
        above, row = row, [row[0] + _loss(mine)]
        for place, sound in enumerate(other):
            row.append(
                min(
                    above[place] + substitution(mine, sound),
                    above[place + 1] + _loss(mine),
                    row[place] + _loss(sound),
                )
            )
    return row[-1]


def distance(one: Sequence[Pronunciation], other: Sequence[Pronunciation]) -> float:
    """Give how far apart two names are: 0 for the same, near 1 for nothing in common.

    Words that both have at the beginning or at the end tell nothing apart and are left out.
    """
    mine, theirs = _telling(one, other)
    longer = max(len(mine), len(theirs))
    return cost(mine, theirs) / longer if longer else 0.0


def _telling(
    one: Sequence[Pronunciation], other: Sequence[Pronunciation]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    a, b = list(one), list(other)
    while a and b and a[0].sounds == b[0].sounds:
        del a[0], b[0]
    while a and b and a[-1].sounds == b[-1].sounds:
        del a[-1], b[-1]
    sounds = [tuple(sound for each in words for sound in each.sounds) for words in (a, b)]
    return sounds[0], sounds[1]
