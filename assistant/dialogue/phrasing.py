"""From a reply's lines to words, by the phrases of a language.

A phrase is a template; what stands behind the colon of a slot says how it is put into words, one
entry of FORMS each, or two forms to choose between by number.
"""

import string
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from ruamel.yaml import YAML

from assistant.dialogue.numbers import digits_for, quantity_words, sounds_alike, words_for
from assistant.dialogue.reply import Line, PlayNote, Reply, Slot
from assistant.errors import DialogueError
from assistant.paths import shipped
from assistant.torque.units import Quantity


class Phrasebook:
    """The phrases of one language, by key."""

    def __init__(self, phrases: Mapping[str, str]) -> None:
        self._phrases = phrases
        self._formatter = _Slots(self)

    @property
    def keys(self) -> frozenset[str]:
        """The keys that there are phrases for."""
        return frozenset(self._phrases)

    def words(self, line: Line) -> str:
        """Put one line into words. Raises DialogueError where there is no such phrase."""
        if line.key not in self._phrases:
            raise DialogueError(f"there is no phrase for {line.key!r}", do="add it to phrases.yaml")
        return self._formatter.vformat(self._phrases[line.key], (), line.slots)

    def sentences(self, reply: Reply) -> str:
        """Put all lines of a reply into words, in order."""
        return " ".join(_sentence(self.words(part)) for part in reply.parts if isinstance(part, Line))

    def pieces(self, reply: Reply) -> tuple[str | PlayNote, ...]:
        """Give the reply as pieces to be sounded in order: words, and notes to be played between them."""
        pieces: list[str | PlayNote] = []
        for part in reply.parts:
            if isinstance(part, Line) and pieces and isinstance(pieces[-1], str):
                pieces[-1] += " " + _sentence(self.words(part))
            else:
                pieces.append(_sentence(self.words(part)) if isinstance(part, Line) else part)
        return tuple(pieces)


def load_phrasebook(language: str = "en") -> Phrasebook:
    """Read the phrases that travel with the program. Raises DialogueError where they cannot be read."""
    path: Path = shipped("grammars") / language / "phrases.yaml"
    try:
        return Phrasebook(YAML(typ="safe").load(path.read_text(encoding="utf-8")))
    except OSError as error:
        raise DialogueError(
            "the phrases cannot be read", where=str(path), do="install the package again"
        ) from error


class _Slots(string.Formatter):
    """Fills slots: the value is looked up by name, and put into words by its form."""

    def __init__(self, book: Phrasebook) -> None:
        self._book = book

    def format_field(self, value: Any, format_spec: str) -> str:
        """Put one slot into words."""
        if "|" in format_spec:
            one, many = format_spec.split("|")
            return one if value == 1 else many
        return FORMS[format_spec](self._book, value)


def _plain(book: Phrasebook, value: Slot) -> str:
    """Say a value as it is: numbers in words, several things as a list."""
    if isinstance(value, Line):
        return book.words(value)
    if isinstance(value, Quantity):
        return quantity_words(value)
    if isinstance(value, int):
        return words_for(value)
    if isinstance(value, tuple):
        return _listed([_plain(book, item) for item in value])
    return value


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else "none"


def _digits(book: Phrasebook, value: Slot) -> str:
    """Say a quantity or a number, and its digits singly where it could be heard as another."""
    said = _plain(book, value)
    number = value.value if isinstance(value, Quantity) else value
    if isinstance(number, int | Decimal) and sounds_alike(number):
        return f"{said}, {digits_for(number)}"
    return said


def _number(_book: Phrasebook, value: Slot) -> str:
    """Say a quantity without its unit, where the unit follows."""
    return words_for(value.value) if isinstance(value, Quantity) else str(value)


def _run(book: Phrasebook, value: Slot) -> str:
    """Say several things one after the other, with no "and" that could be taken for the end."""
    return ", ".join(_plain(book, item) for item in _several(value))


def _then(book: Phrasebook, value: Slot) -> str:
    """Say things that follow one another in time."""
    return _sentence(", then ".join(_plain(book, item) for item in _several(value)))


def _semicolons(book: Phrasebook, value: Slot) -> str:
    return "; ".join(_plain(book, item) for item in _several(value))


def _sentences(book: Phrasebook, value: Slot) -> str:
    return " ".join(_sentence(_plain(book, item)) for item in _several(value))


def _several(value: Slot) -> tuple[Slot, ...]:
    return value if isinstance(value, tuple) else (value,)


def _as_sentence(book: Phrasebook, value: Slot) -> str:
    return _sentence(_plain(book, value))


def _sentence(words: str) -> str:
    words = words.strip()
    ended = words if words[-1:] in {".", "!", "?"} else f"{words}."
    return ended[:1].upper() + ended[1:]


FORMS: Final[Mapping[str, Callable[[Phrasebook, Slot], str]]] = {
    "": _plain,
    "sentence": _as_sentence,
    "sentences": _sentences,
    "digits": _digits,
    "number": _number,
    "run": _run,
    "then": _then,
    "semicolons": _semicolons,
}
"""How a slot is put into words, by what stands behind its colon."""
