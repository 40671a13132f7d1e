"""Read a JSGF text into pyjsgf's expansion trees.

The trees are pyjsgf's, its reader is not used: it takes `(a) b | c` for `a (b | c)`, and tags
a whole run of words where the note tags the last one, both without complaint; it knows no
quoted tokens and no `=` in a tag, and gives up past some sixty alternatives.
Source of the language: W3C note NOTE-jsgf-20000605.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from jsgf import expansions as tree

from assistant.errors import HearingError
from assistant.hearing.words import words_of

_HEADER = re.compile(r"\ufeff?\s*#JSGF\s+V\d+(?:\.\d+)?(?:\s+[\w.-]+){0,2}\s*;")
_BEFORE_HEADER = re.compile(r"(?:\s|//[^\n]*|/\*.*?\*/)*", re.DOTALL)
_PIECE = re.compile(
    r"""(?P<space>\s+)
    |(?P<comment>//[^\n]*|/\*.*?\*/)
    |(?P<name><[^<>\s]+>)
    |(?P<quoted>"(?:\\.|[^"\\])*")
    |(?P<tag>\{(?:\\.|[^{}\\])*\})
    |(?P<weight>/\s*\d*\.?\d+(?:[eE][+-]?\d+)?\s*/)
    |(?P<sign>[;=|*+()\[\]])
    |(?P<word>(?:\\.|[^\s;=|*+<>()\[\]{}/\\"])+)""",
    re.VERBOSE | re.DOTALL,
)
_OPENING = {"(": ")", "[": "]"}
_DEEPEST = 50  # brackets in brackets; a file with more is broken, and Python's own stack has an end


class Reference(tree.NamedRuleRef):  # type: ignore[misc]
    """A rule named inside another, with the line it is named on."""

    line = 0


@dataclass(frozen=True)
class Rule:
    """A rule as it was written: whether others may import it, what it expands to, and where it stands."""

    public: bool
    expansion: Any
    line: int


@dataclass
class Text:
    """One JSGF file, read: its rules by their plain names, its imports, and the lines of its tags."""

    name: str
    place: str
    imports: dict[str, int] = field(default_factory=dict)
    rules: dict[str, Rule] = field(default_factory=dict)
    tag_lines: dict[str, int] = field(default_factory=dict)


class _Piece(NamedTuple):
    kind: str
    text: str
    line: int


def read(text: str, place: str) -> Text:
    """Read a JSGF text; `place` names it in errors, which are HearingErrors with file and line."""
    return _Reader(text, place).read()


def _pieces(text: str, place: str, at: int) -> Iterator[_Piece]:
    line = text.count("\n", 0, at) + 1
    while at < len(text):
        found = _PIECE.match(text, at)
        if found is None:
            raise HearingError(
                f"{text[at]!r} cannot stand here", where=f"{place}:{line}", do="see the JSGF note"
            )
        if found.lastgroup not in ("space", "comment"):
            yield _Piece(str(found.lastgroup), found[0], line)
        line += found[0].count("\n")
        at = found.end()
    yield _Piece("end", "", line)


class _Reader:
    """Recursive descent with one piece of look-ahead; the methods follow the note's order of binding."""

    def __init__(self, text: str, place: str) -> None:
        lead = _BEFORE_HEADER.match(text)
        header = _HEADER.match(text, lead.end() if lead else 0)
        if header is None:
            raise HearingError(
                "a JSGF file begins with its header", where=f"{place}:1", do='write "#JSGF V1.0;"'
            )
        self._rest = _pieces(text, place, header.end())
        self._now = next(self._rest)
        self._text = Text(name="", place=place)
        self._depth = 0

    def read(self) -> Text:
        self._take("word", "grammar")
        line = self._now.line
        self._text.name = self._valid("".join(self._upto(";")), line)
        while self._is("word", "import"):
            self._import()
        while self._now.kind != "end":
            self._rule()
        if not self._text.rules:
            raise self._error("the grammar has no rule")
        return self._text

    # pieces

    def _is(self, kind: str, text: str | None = None) -> bool:
        return self._now.kind == kind and text in (None, self._now.text)

    def _next(self) -> _Piece:
        piece = self._now
        self._now = next(self._rest, piece)
        return piece

    def _take(self, kind: str, text: str | None = None) -> _Piece:
        if not self._is(kind, text):
            raise self._error(f"expected {text or 'a ' + kind}")
        return self._next()

    def _upto(self, sign: str) -> Iterator[str]:
        while not self._is("sign", sign):
            if self._now.kind == "end":
                raise self._error(f"expected {sign}")
            yield self._next().text
        self._next()

    def _error(self, what: str) -> HearingError:
        found = repr(self._now.text) if self._now.text else "the end of the file"
        return HearingError(f"{what}, found {found}", where=f"{self._text.place}:{self._now.line}")

    def _valid(self, name: str, line: int) -> str:
        if not Reference.valid(name):
            raise HearingError(f"{name!r} is not a name for a rule", where=f"{self._text.place}:{line}")
        return name

    def _is_opening(self) -> bool:
        return self._now.kind == "sign" and self._now.text in _OPENING

    # statements

    def _import(self) -> None:
        self._next()
        name = self._take("name")
        self._take("sign", ";")
        self._text.imports[name.text[1:-1]] = name.line

    def _rule(self) -> None:
        public = self._is("word", "public")
        if public:
            self._next()
        name = self._take("name")
        plain = self._valid(name.text[1:-1], name.line).rpartition(".")[2]
        if plain in self._text.rules or plain in ("NULL", "VOID"):
            raise HearingError(
                f"the rule {name.text} may not be defined here again",
                where=f"{self._text.place}:{name.line}",
                do="give it a name of its own",
            )
        self._take("sign", "=")
        expansion = self._alternatives()
        self._take("sign", ";")
        self._text.rules[plain] = Rule(public=public, expansion=expansion, line=name.line)

    # expansions, loosest first

    def _alternatives(self) -> Any:
        choices = [self._weighted()]
        while self._is("sign", "|"):
            self._next()
            choices.append(self._weighted())
        weighted = [weight is not None for _, weight in choices]
        if any(weighted) and not all(weighted):
            raise self._error("either every alternative has a weight or none has")
        if len(choices) == 1 and not any(weighted):
            return choices[0][0]
        return _choice(choices)

    def _weighted(self) -> tuple[Any, float | None]:
        weight = float(self._next().text.strip("/ \t\r\n")) if self._now.kind == "weight" else None
        return self._sequence(), weight

    def _sequence(self) -> Any:
        parts = [self._unary()]
        while self._now.kind in ("word", "quoted", "name") or self._is_opening():
            parts.append(self._unary())
        return parts[0] if len(parts) == 1 else tree.Sequence(*parts)

    def _unary(self) -> Any:
        item = self._atom()
        if self._now.text in ("*", "+"):
            repeated = tree.KleeneStar if self._next().text == "*" else tree.Repeat
            item = repeated(item)
        while self._now.kind == "tag":
            item = self._tagged(item)
        if self._now.text in ("*", "+"):
            raise self._error("one repetition at a time; put brackets round the first")
        return item

    def _tagged(self, item: Any) -> Any:
        piece = self._next()
        tag = re.sub(r"\\(.)", r"\1", piece.text[1:-1]).strip()
        self._text.tag_lines.setdefault(tag, piece.line)
        if not tag:
            return item
        group = tree.RequiredGrouping(item)
        group.tag = tag
        return group

    def _atom(self) -> Any:
        if self._is_opening():
            return self._bracket()
        if self._now.kind == "name":
            return self._reference(self._next())
        if self._now.kind in ("word", "quoted"):
            return self._token()
        raise self._error("expected something to say")

    def _bracket(self) -> Any:
        opening = self._next().text
        self._depth += 1
        if self._depth > _DEEPEST:
            raise self._error("brackets are nested too deep")
        inside = self._alternatives()
        self._depth -= 1
        self._take("sign", _OPENING[opening])
        return tree.OptionalGrouping(inside) if opening == "[" else tree.RequiredGrouping(inside)

    def _reference(self, piece: _Piece) -> Any:
        special = {"<NULL>": tree.NullRef, "<VOID>": tree.VoidRef}.get(piece.text)
        if special:
            return special()
        found = Reference(self._valid(piece.text[1:-1], piece.line))
        found.line = piece.line
        return found

    def _token(self) -> Any:
        token = re.sub(r"\\(.)", r"\1", self._now.text.strip('"'))
        words = words_of(token)
        if not words:
            raise self._error("this token has nothing that can be said")
        self._next()
        return spoken(words)


def spoken(words: tuple[str, ...]) -> Any:
    """Give the expansion that says these words one after the other."""
    said = [tree.Literal(word) for word in words]
    return said[0] if len(said) == 1 else tree.RequiredGrouping(*said)


def either(expansions: list[Any]) -> Any:
    """Give the expansion that says one of these; the special rule VOID where there are none."""
    return tree.AlternativeSet(*expansions) if expansions else tree.VoidRef()


def _choice(choices: list[tuple[Any, float | None]]) -> Any:
    # The note: an alternative of weight 0 is as if it were not written.
    kept = [(item, weight) for item, weight in choices if weight != 0]
    found = either([item for item, _ in kept])
    for place, (_, weight) in enumerate(kept):
        if weight is not None:
            found.set_weight(place, weight)
    return found
