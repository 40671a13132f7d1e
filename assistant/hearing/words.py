"""How words are spelled in grammars and utterances: one spelling, so that text and speech meet.

Lower case, no punctuation, hyphens split, figures as words: "Number 12, done." becomes
`("number", "twelve", "done")`.
"""

import re
from collections.abc import Iterable
from decimal import Decimal
from unicodedata import normalize

from assistant.dialogue.numbers import digits_for, fraction_words, words_for
from assistant.errors import DialogueError

_TOKEN = re.compile(r"(\d+)/(\d+)|\d*\.\d+|\d+|[^\W\d_]+(?:'[^\W\d_]+)*")
_THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}\b)")


def words_of(text: str) -> tuple[str, ...]:
    """Split a text into words as the grammars spell them; `()` where there are none.

    Figures are read as numbers: "0.35" is "zero point three five", "1/4" is "one quarter".
    """
    plain = _THOUSANDS.sub("", normalize("NFC", text).lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'"))
    return tuple(word for found in _TOKEN.finditer(plain) for word in _spelled(found))


def _spelled(found: re.Match[str]) -> Iterable[str]:
    token = found[0]
    if found[1]:
        return fraction_words(int(found[1]), int(found[2])).split()
    if not token[-1].isdecimal():
        return (token,)
    value = Decimal(token)
    try:
        spoken = words_for(value)
    except DialogueError:  # longer than any number that is said: a serial number, read out singly
        spoken = digits_for(value)
    bare = spoken.startswith("point") and not token.startswith(".")
    return ["zero", *spoken.split()] if bare else spoken.split()
