"""How words sound: as the author says, as the trade's list says, as the CMU dictionary says, or a guess."""

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import chain
from pathlib import Path
from types import MappingProxyType
from typing import Final, Literal

import pocketsphinx

from assistant.dialogue.names import names_of
from assistant.hearing.grammar import Grammar, load_grammar, pronunciations, words_of
from assistant.hearing.spelling import guess
from assistant.procedure.route import Route

Sounds = tuple[str, ...]
Source = Literal["author", "trade", "dictionary", "guess"]

_NONE: Final[Mapping[str, Sounds]] = MappingProxyType({})
_SAME: Final[Mapping[str, str]] = MappingProxyType({})


@dataclass(frozen=True)
class Pronunciation:
    """How a word sounds, and who says so."""

    word: str
    sounds: Sounds
    source: Source


@cache
def dictionary() -> Mapping[str, Sounds]:
    """Give the CMU dictionary of the PocketSphinx wheel: the first pronunciation of each word."""
    return MappingProxyType({word: listed[0] for word, listed in _listed().items()})


def ways(word: str, given: Mapping[str, Sounds] = _NONE) -> tuple[Sounds, ...]:
    """Give every way in which a word may sound: the author's alone, or as `pronounce` says and the dictionary lists."""
    if word in given:
        return (given[word],)
    return tuple(dict.fromkeys((pronounce(word).sounds, *_listed().get(word, ()))))


def pronounce(word: str, given: Mapping[str, Sounds] = _NONE) -> Pronunciation:
    """Say how one word sounds; `given` are the author's own."""
    if word in given:
        return Pronunciation(word, given[word], "author")
    if word in pronunciations():
        return Pronunciation(word, tuple(pronunciations()[word].split()), "trade")
    if word in dictionary():
        return Pronunciation(word, dictionary()[word], "dictionary")
    return Pronunciation(word, guess(word, dictionary().get), "guess")


def pronounced(name: str, given: Mapping[str, Sounds] = _NONE) -> tuple[Pronunciation, ...]:
    """Say how each word of a name sounds, in order."""
    return tuple(pronounce(word, given) for word in words_of(name))


def grammar_for(route: Route, mode: str, renamed: Mapping[str, str] = _SAME) -> Grammar:
    """Load the grammar of a mode with the names of a route, and with the sounds of those words no dictionary has.

    `renamed` gives other names for some, as if the author had written those.
    """
    names = {kind: [renamed.get(name, name) for name in known] for kind, known in names_of(route).items()}
    given = route.procedure.pronounce
    return load_grammar(mode, names, sounds=_beyond_dictionary([*chain(*names.values())], given))


@cache
def _listed() -> Mapping[str, list[Sounds]]:
    """Read all pronunciations of each word; the dictionary writes the second of "either" as "either(2)"."""
    path = Path(pocketsphinx.get_model_path("en-us")) / "cmudict-en-us.dict"
    entries: dict[str, list[Sounds]] = {}
    with path.open(encoding="utf-8") as lines:
        for line in lines:
            word, *sounds = line.split()
            # The same 39 sounds a million times would be as many texts.
            entries.setdefault(word.partition("(")[0], []).append(tuple(map(sys.intern, sounds)))
    return MappingProxyType(entries)


def _beyond_dictionary(names: Sequence[str], given: Mapping[str, Sounds]) -> dict[str, str]:
    found = (each for name in names for each in pronounced(name, given))
    return {each.word: " ".join(each.sounds) for each in found if each.source in {"author", "guess"}}
