"""What may be said now: a grammar that matches, says what may come next, and gives the intents.

The JSGF files in `grammars/` are the single source; every engine is fed from a `Grammar`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from jsgf import expansions as tree

from assistant.dialogue.intents import Intent
from assistant.dialogue.meant import meant
from assistant.errors import HearingError
from assistant.hearing.automaton import Automaton, Node
from assistant.hearing.flat import flat_jsgf
from assistant.hearing.jsgf import Reference, Text, either, read, spoken
from assistant.hearing.linking import Linked, Linker, bound, text_of
from assistant.hearing.meaning import check_flow, check_tag, intents_of
from assistant.hearing.words import words_of
from assistant.paths import shipped

__all__ = [
    "Grammar",
    "Match",
    "called",
    "combined",
    "load_grammar",
    "modes",
    "parse_grammar",
    "pronunciations",
    "words_of",
]

_NO_NAMES: Mapping[str, Sequence[str]] = MappingProxyType({})
_NO_SOUNDS: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True)
class Match:
    """A whole utterance that the grammar accepts, and what it means."""

    words: tuple[str, ...]
    intents: tuple[Intent, ...]

    def means_the_same(self, other: "Match") -> bool:
        """Tell whether two utterances mean the same; where nothing is tagged, the words are the meaning."""
        if self.intents and other.intents:
            return meant(self.intents) == meant(other.intents)
        return self.words == other.words


class Grammar:
    """A set of utterances with their intents. Immutable, and the same only as itself.

    Made by `load_grammar`, `parse_grammar` or `combined`. Words are spelled as `words_of` does. `sounds` says how
    words of a procedure sound (ARPABET) that no dictionary has, or that its author says otherwise.
    """

    def __init__(
        self,
        name: str,
        root: str,
        rules: Mapping[str, Linked],
        where: str,
        sounds: Mapping[str, str] = _NO_SOUNDS,
    ) -> None:
        self.name = name
        self.sounds = sounds
        self._root = root
        self._rules = rules
        self._automaton = Automaton(root, rules[root].expansion, self._resolve)
        self.words = self._automaton.words
        if not self.words:
            raise HearingError("nothing can be said in this grammar", where=where)
        check_flow(self._automaton, where)

    def match(self, words: Sequence[str]) -> Match | None:
        """Match a whole utterance; None where it is not in the grammar."""
        spans = self._automaton.spans(words)
        return None if spans is None else Match(tuple(words), intents_of(words, spans))

    def next_words(self, prefix: Sequence[str]) -> frozenset[str]:
        """Give the words that may follow on the way to a whole utterance; none after a wrong prefix."""
        return self._automaton.next_words(prefix)

    def is_whole(self, prefix: Sequence[str]) -> bool:
        """Tell whether the utterance may end here."""
        return self._automaton.is_whole(prefix)

    def phrases(self, limit: int) -> tuple[str, ...] | None:
        """List every whole utterance, shortest first, or None where there are more than `limit`."""
        return self._automaton.phrases(limit)

    def nodes(self) -> tuple[Node, ...]:
        """Lay out all utterances as one net of words, the first node first; see `Automaton.nodes`."""
        return self._automaton.nodes()

    def jsgf(self) -> str:
        """Write it as one JSGF text without imports and tags, with one public rule, for other decoders."""
        return flat_jsgf(self._rules, self._root)

    def heads(self) -> tuple[str, ...]:
        """Give the full names of the rules that its public rule merely lists, or of that rule."""
        listed = self._rules[self._root]
        parts = listed.expansion.children
        plain = isinstance(listed.expansion, tree.AlternativeSet) and not listed.expansion.weights
        if plain and all(isinstance(part, Reference) for part in parts):
            return tuple(listed.targets[part.name] for part in parts)
        return (self._root,)

    @property
    def root(self) -> str:
        """The full name of its public rule."""
        return self._root

    @property
    def rules(self) -> Mapping[str, Linked]:
        """Its rules by their full names."""
        return MappingProxyType(self._rules)

    def __repr__(self) -> str:
        return f"<Grammar {self.name}>"

    def _resolve(self, reference: Any, home: str) -> tuple[str, Any]:
        target = self._rules[home].targets[reference.name]
        return target, self._rules[target].expansion


def load_grammar(
    mode: str,
    names: Mapping[str, Sequence[str]] = _NO_NAMES,
    *,
    sounds: Mapping[str, str] = _NO_SOUNDS,
    folder: Path | None = None,
    language: str = "en",
) -> Grammar:
    """Load the grammar of a mode, with names of a procedure in its `<names...>` rules, and how their words sound.

    `folder` holds the JSGF files; by default it is the one that travels with the program for
    `language`. Raises HearingError for an unknown mode and for mistakes in the files.
    """
    home = folder or _shipped(language)
    linker = Linker(names, home, check_tag)
    text = linker.open(mode, str(home)) if (home / f"{mode}.jsgf").is_file() else None
    if text is None or not _is_mode(text):
        known = ", ".join(modes(home))
        raise HearingError(f"there is no mode {mode!r}", where=str(home), do=f"use one of {known}")
    root = f"{mode}.{mode}"
    return Grammar(mode, root, linker.link({root: text.rules[mode].expansion}), text.place, sounds)


def parse_grammar(
    text: str,
    *,
    name: str,
    names: Mapping[str, Sequence[str]] = _NO_NAMES,
    folder: Path | None = None,
) -> Grammar:
    """Make a grammar of a JSGF text; all its public rules may be spoken. `name` stands in errors.

    `folder` is where imported grammars lie. Raises HearingError with file and line.
    """
    linker = Linker(names, folder, check_tag)
    found = linker.add(text, name)
    roots = {f"{found.name}.{plain}": rule.expansion for plain, rule in found.rules.items() if rule.public}
    if not roots:
        raise HearingError("no rule is public", where=name, do='write "public" before one')
    return _listing(name, linker.link(roots), tuple(roots))


def combined(grammars: Sequence[Grammar], name: str) -> Grammar:
    """Unite grammars: what any of them accepts; where two read an utterance, the first one counts.

    Raises HearingError where different rules have one full name.
    """
    rules: dict[str, Linked] = {}
    for grammar in grammars:
        for full_name, rule in grammar.rules.items():
            other = rules.setdefault(full_name, rule)
            if other.targets != rule.targets or other.expansion.compile() != rule.expansion.compile():
                raise HearingError(
                    f"there are two rules <{full_name}>", where=name, do="give the grammars different names"
                )
    sounds = {word: said for each in grammars for word, said in each.sounds.items()}
    return _listing(
        name, rules, tuple(dict.fromkeys(head for each in grammars for head in each.heads())), sounds
    )


def called(grammar: Grammar, name: str, *, needed: bool) -> Grammar:
    """Give the grammar in which a name comes before everything that can be said, in one breath.

    Where it is not `needed`, it may be left out. Raises HearingError for a name without words.
    """
    words = words_of(name)
    if not words:
        raise HearingError(f"{name!r} is no name that can be said", do="choose a word or two")
    first = spoken(words) if needed else tree.OptionalGrouping(spoken(words))
    root = f"{grammar.name}|{name}"  # no rule of a file can be called so
    whole = bound(tree.Sequence(first, Reference(grammar.root)), lambda reference: reference.name)
    return Grammar(grammar.name, root, {root: whole, **grammar.rules}, grammar.name, grammar.sounds)


def modes(folder: Path | None = None) -> tuple[str, ...]:
    """List the modes: the files of the folder whose public rule is called like the file."""
    home = folder or _shipped("en")
    texts = (read(text_of(path), str(path)) for path in home.glob("*.jsgf"))
    return tuple(sorted(text.name for text in texts if _is_mode(text)))


@cache
def pronunciations(folder: Path | None = None) -> Mapping[str, str]:
    """Give the sounds (ARPABET) of the trade's words that common dictionaries lack."""
    path = (folder or _shipped("en")) / "pronunciations.dict"
    lines = text_of(path).splitlines() if path.is_file() else []
    entries = (line.split(maxsplit=1) for line in lines if line.strip() and not line.startswith("#"))
    return MappingProxyType({word: sounds.strip() for word, sounds in entries})


def _listing(
    name: str, rules: Mapping[str, Linked], heads: tuple[str, ...], sounds: Mapping[str, str] = _NO_SOUNDS
) -> Grammar:
    """Make the grammar whose public rule lists these rules."""
    root = f"{name}|"  # no rule of a file can be called so
    listed = bound(either([Reference(head) for head in heads]), lambda reference: reference.name)
    return Grammar(name, root, {root: listed, **rules}, name, sounds)


def _is_mode(text: Text) -> bool:
    return text.name in text.rules and text.rules[text.name].public


def _shipped(language: str) -> Path:
    folder = shipped("grammars") / language
    if not folder.is_dir():
        raise HearingError(f"there are no grammars for the language {language!r}", where=str(folder.parent))
    return folder
