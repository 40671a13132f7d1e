"""Bring the rules of several JSGF files together: imports, qualified names, and names from a procedure."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jsgf import expansions as tree

from assistant.errors import HearingError
from assistant.hearing.jsgf import Reference, Rule, Text, either, read, spoken
from assistant.hearing.words import words_of

NAMES = "names"
"""The grammar that no file holds: its rules are the names that a procedure brings."""

CheckTag = Callable[[str, str], None]
"""Looks at a tag and its place (file and line), and raises HearingError where it means nothing."""


@dataclass(frozen=True)
class Linked:
    """A rule whose references are bound: what it expands to, and the full name behind each name in it."""

    expansion: Any
    targets: Mapping[str, str]


def bound(expansion: Any, full_name: Callable[[Reference], str]) -> Linked:
    """Bind every reference of an expansion."""
    references = tree.filter_expansion(expansion, lambda part: isinstance(part, Reference), shallow=True)
    return Linked(expansion, {reference.name: full_name(reference) for reference in references})


class Linker:
    """Finds rules by name, over the texts given and the files of a folder; a text is read once."""

    def __init__(self, names: Mapping[str, Sequence[str]], folder: Path | None, check_tag: CheckTag) -> None:
        self._names = names
        self._folder = folder
        self._check_tag = check_tag
        self._texts: dict[str, Text] = {}

    def add(self, text: str, place: str) -> Text:
        """Take in a JSGF text; `place` names it in errors."""
        found = read(text, place)
        for tag, line in found.tag_lines.items():
            self._check_tag(tag, f"{place}:{line}")
        self._texts[found.name] = found
        return found

    def open(self, grammar: str, where: str) -> Text:
        """Give the grammar of this name, reading its file where need be; HearingError where there is none."""
        if grammar not in self._texts:
            path = self._file(grammar)
            if path is None:
                raise HearingError(f"there is no grammar {grammar!r}", where=where, do=f"add {grammar}.jsgf")
            found = self.add(text_of(path), str(path))
            if found.name != grammar:
                raise HearingError(
                    f"the file holds the grammar {found.name!r}",
                    where=f"{path}:1",
                    do=f"call it {grammar!r}, as its file is called",
                )
        return self._texts[grammar]

    def link(self, roots: Mapping[str, Any]) -> dict[str, Linked]:
        """Bind these rules, by their full names, and every rule that they lead to."""
        linked: dict[str, Linked] = {}
        waiting = dict(roots)
        while waiting:
            name, expansion = waiting.popitem()
            reached: dict[str, Any] = {}

            def full_name(reference: Reference, home: str = name, reached: dict[str, Any] = reached) -> str:
                target, found = self._find(reference, home.rpartition(".")[0])
                reached[target] = found
                return target

            linked[name] = bound(expansion, full_name)
            waiting |= {target: found for target, found in reached.items() if target not in linked}
        return linked

    def _file(self, grammar: str) -> Path | None:
        # A package name, such as com.acme.polite, may stand for polite.jsgf.
        for stem in (grammar, grammar.rpartition(".")[2]):
            path = self._folder / f"{stem}.jsgf" if self._folder else None
            if path and path.is_file():
                return path
        return None

    def _find(self, reference: Reference, home: str) -> tuple[str, Any]:
        grammar, _, plain = reference.name.rpartition(".")
        if grammar == NAMES:
            return reference.name, self._named(plain)
        text = self._texts[home]
        if grammar in ("", home) and plain in text.rules:
            return f"{home}.{plain}", text.rules[plain].expansion
        where = f"{text.place}:{reference.line}"
        found = {
            other.name: rule
            for other in self._offering(text, grammar, where)
            if (rule := _importable(text, other, grammar, plain))
        }
        if len(found) != 1:
            raise HearingError(
                f"the rule <{reference.name}> is {'ambiguous' if found else 'not there'}",
                where=where,
                do="name its grammar too" if found else "define it, make it public, or import it",
            )
        [(other, rule)] = found.items()
        return f"{other}.{plain}", rule.expansion

    def _offering(self, text: Text, grammar: str, where: str) -> list[Text]:
        """Open the grammars in which a rule may stand: those imported, and the one named with it."""
        imported = {name.rpartition(".")[0]: f"{text.place}:{line}" for name, line in text.imports.items()}
        wanted = {name: place for name, place in imported.items() if not grammar or name == grammar}
        if grammar and not wanted:
            wanted = {name: where for name in imported if name.endswith(f".{grammar}")} or {grammar: where}
        return [self.open(name, place) for name, place in wanted.items() if name != NAMES]

    def _named(self, kind: str) -> Any:
        said = [words_of(name) for name in self._names.get(kind, ())]
        return either([spoken(words) for words in dict.fromkeys(said) if words])


def _importable(text: Text, other: Text, grammar: str, plain: str) -> Rule | None:
    rule = other.rules.get(plain)
    # The note: a rule that is named in full needs no import.
    asked = grammar or f"{other.name}.{plain}" in text.imports or f"{other.name}.*" in text.imports
    return rule if rule and rule.public and asked else None


def text_of(path: Path) -> str:
    """Read a grammar file; HearingError where that cannot be done."""
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise HearingError(f"the grammar cannot be read: {reason}", where=str(path)) from error
