"""Lay out a JSGF expansion tree as the states and arcs of a finite automaton."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from jsgf import expansions as tree

from assistant.errors import HearingError
from assistant.hearing.jsgf import Reference

_MOST_STATES = 200_000  # far above any mode; rules that double one another would fill the memory


class Mark(NamedTuple):
    """The beginning or the end of a tagged part."""

    tag: str
    opens: bool


@dataclass
class State:
    """A place in the automaton: what may be said here, and where one may go without a word."""

    steps: list[tuple[int, Mark | None]] = field(default_factory=list)  # taken without a word, best first
    word: str | None = None
    after: int = -1

    def targets(self) -> list[int]:
        """Give every state that can be reached in one step, with or without a word."""
        return [target for target, _ in self.steps] + ([] if self.word is None else [self.after])


Resolve = Callable[[Any, str], tuple[str, Any]]
"""Finds the rule that a reference means: (reference, home) -> (full name, expansion).

`home` is the full name of the rule in which the reference stands.
"""


def lay_out(name: str, expansion: Any, resolve: Resolve) -> tuple[list[State], int, int]:
    """Lay out a rule by its full name: the states, the first one and the accepting one.

    Raises HearingError where a rule calls itself before its end, and for a language too large.
    """
    builder = _Builder(resolve)
    start, end = builder.new(), builder.new()
    builder.rule(name, expansion, start, end)
    return builder.states, start, end


class _Builder:
    """Lays states between a given beginning and a given end, expansion by expansion."""

    def __init__(self, resolve: Resolve) -> None:
        self._resolve = resolve
        self.states: list[State] = []
        self._open: dict[str, tuple[int, int]] = {}  # rules being laid: where they begin and end

    def new(self) -> int:
        if len(self.states) >= _MOST_STATES:
            raise HearingError("the grammar is too large", do="name fewer rules inside one another")
        self.states.append(State())
        return len(self.states) - 1

    def _step(self, start: int, end: int, mark: Mark | None = None) -> None:
        self.states[start].steps.append((end, mark))

    def rule(self, name: str, expansion: Any, start: int, end: int) -> None:
        begin = self.new()  # nothing but a call of this very rule leads here again
        self._step(start, begin)
        self._open[name] = (begin, end)
        self._lay(expansion, begin, end, name)
        del self._open[name]

    def _lay(self, item: Any, start: int, end: int, home: str) -> None:
        if item.tag:
            inner, outer = self.new(), self.new()
            self._step(start, inner, Mark(item.tag, opens=True))
            self._step(outer, end, Mark(item.tag, opens=False))
            start, end = inner, outer
        _LAYERS[type(item).__name__](self, item, start, end, home)

    def literal(self, item: Any, start: int, end: int, _home: str) -> None:
        said = self.new()
        self._step(start, said)
        self.states[said].word = item.text
        self.states[said].after = end

    def sequence(self, item: Any, start: int, end: int, home: str) -> None:
        parts = list(item.children)
        for part in parts[:-1]:
            middle = self.new()
            self._lay(part, start, middle, home)
            start = middle
        self._lay(parts[-1], start, end, home)

    def alternatives(self, item: Any, start: int, end: int, home: str) -> None:
        for choice in item.children:
            branch = self.new()
            self._step(start, branch)
            self._lay(choice, branch, end, home)

    def optional(self, item: Any, start: int, end: int, home: str) -> None:
        self.alternatives(item, start, end, home)
        self._step(start, end)

    def star(self, item: Any, start: int, end: int, home: str) -> None:
        loop = self.new()
        self._step(start, loop)
        self.alternatives(item, loop, loop, home)
        self._step(loop, end)

    def plus(self, item: Any, start: int, end: int, home: str) -> None:
        begin, again = self.new(), self.new()
        self._step(start, begin)
        self._lay(item.child, begin, again, home)
        self._step(again, begin)
        self._step(again, end)

    def null(self, _item: Any, start: int, end: int, _home: str) -> None:
        self._step(start, end)

    def void(self, _item: Any, _start: int, _end: int, _home: str) -> None:
        """Lay nothing: no way leads through what cannot be said."""

    def reference(self, item: Any, start: int, end: int, home: str) -> None:
        name, expansion = self._resolve(item, home)
        if name not in self._open:
            self.rule(name, expansion, start, end)
        elif self._open[name][1] == end:
            self._step(start, self._open[name][0])
        else:
            raise HearingError(
                f"the rule <{name}> calls itself before its end",
                where=f"rule <{home}>, line {item.line}",
                do="use * or + instead, or put the call last, without a tag",
            )


_LAYERS: Mapping[str, Callable[[_Builder, Any, int, int, str], None]] = {
    tree.Literal.__name__: _Builder.literal,
    tree.Sequence.__name__: _Builder.sequence,
    tree.RequiredGrouping.__name__: _Builder.sequence,
    tree.AlternativeSet.__name__: _Builder.alternatives,
    tree.OptionalGrouping.__name__: _Builder.optional,
    tree.KleeneStar.__name__: _Builder.star,
    tree.Repeat.__name__: _Builder.plus,
    tree.NullRef.__name__: _Builder.null,
    tree.VoidRef.__name__: _Builder.void,
    Reference.__name__: _Builder.reference,
}
