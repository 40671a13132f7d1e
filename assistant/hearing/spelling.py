"""How an English word that no dictionary has may sound: parts that are known, endings, and the letters at last.

It is a guess, and is marked as one where it is used. The rules are the usual ones of English spelling, common
practice, no source; a test measures them against the words that the CMU dictionary has.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from assistant.procedure.sounds import VOWELS

Known = Callable[[str], tuple[str, ...] | None]
"""Gives the sounds of a word that a dictionary has."""

_SHORTEST_PART: Final = 3
_UNVOICED: Final = frozenset({"P", "T", "K", "F", "TH"})
_HISSES: Final = frozenset({"S", "Z", "SH", "ZH", "CH", "JH"})

_SPELLINGS: Final = """
tion$:SH AH N | sion$:ZH AH N | tious$:SH AH S | ture$:CH ER | ough:AO | augh:AO | eigh:EY | igh:AY |
^kn:N | ^wr:R | ^ps:S | wh:W | tch:CH | dge:JH | ck:K | ch:CH | sh:SH | th:TH | ph:F | gh:G | ng$:NG |
ng:NG G | nk:NG K | qu:K W | x:K S | sch:S K | le$:AH L | re$:ER | er$:ER | or$:ER | ar$:ER | ous$:AH S |
ey$:IY | ie$:IY | ye:AY | air:EH R | ear:IH R | eer:IH R | oar:AO R | oor:AO R | our:AO R | ee:IY | ea:IY |
oo:UW | oa:OW | ai:EY | ay:EY | au:AO | aw:AO | ei:EY | eu:Y UW | ew:UW | ie:IY | oi:OY | oy:OY | ou:AW |
ow:OW | ue$:UW | ui:UW | oe:OW | ar:AA R | er:ER | ir:ER | or:AO R | ur:ER | all:AO L | ce:S | ci:S | cy:S |
ge$:JH | gi:JH | gy:JH | bb:B | cc:K | dd:D | ff:F | gg:G | ll:L | mm:M | nn:N | pp:P | rr:R | ss:S | tt:T |
zz:Z | b:B | c:K | d:D | f:F | g:G | h:HH | j:JH | k:K | l:L | m:M | n:N | p:P | q:K | r:R | s:S | t:T | v:V |
w:W | z:Z | a$:AH | e$: | i$:IY | o$:OW | u$:UW | y$:IY | ^y:Y | a:AE | e:EH | i:IH | o:AA | u:AH | y:IH
"""
"""Letters and their sounds, the first that fits counts; ^ stands for the beginning of the word, $ for its end."""

_RULES: Final = tuple(
    (letters.strip(), tuple(sounds.split()))
    for letters, _, sounds in (rule.partition(":") for rule in _SPELLINGS.split("|"))
)
_KEEPS_VOWEL: Final = frozenset({"ce", "ci", "cy", "gi", "gy"})
"""Only the first letter of these is read by the rule; the vowel is read by the next."""

_SILENT_E: Final = re.compile("[bcdfgkmnpstvz]e[sd]?")
_LONG: Final = {"a": "EY", "e": "IY", "i": "AY", "o": "OW", "u": "UW", "y": "AY"}


def guess(word: str, known: Known) -> tuple[str, ...]:
    """Guess the sounds of a word: of a known word with an ending, of two known words in one, or of its letters."""
    return _of_stem(word, known) or _of_parts(word, known) or by_letters(word)


def _of_parts(word: str, known: Known) -> tuple[str, ...] | None:
    """Read "pushrod" as "push" and "rod", the longest first word that leaves a known one."""
    for cut in range(len(word) - _SHORTEST_PART, _SHORTEST_PART - 1, -1):
        first, second = known(word[:cut]), known(word[cut:])
        if first and second:
            return (*first, *second[first[-1] == second[0] :])  # "grom" and "met" have one m between them
    return None


def _of_stem(word: str, known: Known) -> tuple[str, ...] | None:
    for ending, spoken in _ENDINGS.items():
        stem = word.removesuffix(ending)
        found = None if stem == word else known(stem) or known(f"{stem}e") or _doubled(stem, known)
        if found:
            return (*found, *spoken(found[-1]))
    return None


def _doubled(stem: str, known: Known) -> tuple[str, ...] | None:
    return known(stem[:-1]) if len(stem) > 1 and stem[-1] == stem[-2] else None


def _s(last: str) -> tuple[str, ...]:
    if last in _HISSES:
        return ("IH", "Z")
    return ("S",) if last in _UNVOICED else ("Z",)


def _ed(last: str) -> tuple[str, ...]:
    if last in {"T", "D"}:
        return ("IH", "D")
    return ("T",) if last in _UNVOICED | {"S", "SH", "CH"} else ("D",)


_ENDINGS: Final[Mapping[str, Callable[[str], tuple[str, ...]]]] = {
    "ing": lambda _last: ("IH", "NG"),
    "er": lambda _last: ("ER",),
    "ed": _ed,
    "s": _s,
}
"""Endings, and how each sounds after the last sound of the word before it."""


def by_letters(word: str) -> tuple[str, ...]:
    """Read a word by its letters alone."""
    sounds: list[str] = []
    place = 0
    while place < len(word):
        if _is_long(word, place):
            sounds.append(_LONG[word[place]])
            place += 1
            continue
        letters, spoken = next((rule for rule in _RULES if _fits(rule[0], word, place)), (word[place], ()))
        sounds += spoken
        plain = letters.strip("^$")
        place += 1 if plain in _KEEPS_VOWEL else len(plain)
    return tuple(sounds) or ("AH",)


def _fits(letters: str, word: str, place: int) -> bool:
    plain = letters.strip("^$")
    at_start = not letters.startswith("^") or place == 0
    at_end = not letters.endswith("$") or place + len(plain) == len(word)
    return word.startswith(plain, place) and at_start and at_end


def _is_long(word: str, place: int) -> bool:
    """Tell whether a vowel is long: one consonant and a silent e at the end, as in "gate"."""
    alone = place == 0 or word[place - 1] not in "aeiou"
    return word[place] in _LONG and alone and _SILENT_E.fullmatch(word, place + 1) is not None


def syllables(sounds: Sequence[str]) -> int:
    """Count the syllables: one for each vowel."""
    return sum(sound in VOWELS for sound in sounds)
