"""A finite automaton made once from a JSGF expansion tree: it matches, and says what may come next.

Every way through the tree is tried at once, so nothing depends on how greedy a part is; where an
utterance can be read in two ways, the alternative written first counts, and a repetition or an
optional part is taken rather than left out. Tags ride along as marks on the arcs.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from assistant.hearing.states import Mark, Resolve, State, lay_out


class Span(NamedTuple):
    """A tag, and which words stood under it: from `start` up to, not including, `end`."""

    tag: str
    start: int
    end: int


class Node(NamedTuple):
    """A place between two words: may the utterance end here, and to which node does each next word lead."""

    whole: bool
    after: Mapping[str, int]


class _Passed(NamedTuple):
    """The marks that a thread has passed, latest first."""

    before: "_Passed | None"
    mark: Mark
    at: int


class Automaton:
    """The language of one expansion. Immutable once made; what it works out is kept."""

    def __init__(self, name: str, expansion: Any, resolve: Resolve) -> None:
        """Build from a rule's full name, its expansion and a way to find the rules it names.

        Raises HearingError where a rule calls itself anywhere but at its end, which no finite
        automaton can follow.
        """
        self._states, self._start, self._accept = lay_out(name, expansion, resolve)
        self._live = _leading_to(self._states, self._accept)
        self._followed: dict[tuple[frozenset[int], str], frozenset[int]] = {}
        self._first = frozenset(state for state, _ in self._reach([(self._start, None)], 0))
        self.words = frozenset(self._vocabulary())

    def spans(self, words: Sequence[str]) -> tuple[Span, ...] | None:
        """Match the whole of `words`; give the tagged spans in the order they close, or None."""
        threads = self._reach([(self._start, None)], 0)
        for at, word in enumerate(words):
            moved = [(self._states[s].after, marks) for s, marks in threads if self._states[s].word == word]
            threads = self._reach(moved, at + 1)
        ended = [marks for state, marks in threads if state == self._accept]
        return _closed(ended[0]) if ended else None

    def next_words(self, prefix: Sequence[str]) -> frozenset[str]:
        """Give the words that may follow `prefix` on the way to a whole utterance."""
        return self._next(self._after(prefix))

    def is_whole(self, prefix: Sequence[str]) -> bool:
        """Tell whether the utterance may end here."""
        return self._accept in self._after(prefix)

    def phrases(self, limit: int) -> tuple[str, ...] | None:
        """List every whole utterance, shortest first, or None where there are more than `limit`."""
        found: list[str] = []
        level: list[tuple[str, frozenset[int]]] = [("", self._first)]
        while level:
            found += [said for said, states in level if self._accept in states and said]
            # Every beginning leads to an utterance of its own, so a level is never the longer list.
            if len(found) > limit or len(level) > max(limit, 1):
                return None
            level = [
                (f"{said} {word}".strip(), self._follow(states, word))
                for said, states in level
                for word in sorted(self._next(states))
            ]
        return tuple(found)

    def nodes(self) -> tuple[Node, ...]:
        """Lay out all utterances as one net of words without tags, the first node first.

        No word leads from a node to two others, so each way from the first node to a whole one is another utterance.
        """
        numbers = {self._first: 0}
        waiting = [self._first]
        laid = []
        for states in waiting:
            after = {}
            for word in sorted(self._next(states)):
                reached = self._follow(states, word)
                if reached not in numbers:
                    numbers[reached] = len(numbers)
                    waiting.append(reached)
                after[word] = numbers[reached]
            laid.append(Node(self._accept in states, after))
        return tuple(laid)

    def moves(self) -> Iterator[tuple[int, int, str | None]]:
        """Walk every arc once, as (from, to, the tag that closes on it), for checks on the tags."""
        for number, state in enumerate(self._states):
            if number in self._live:
                for target, mark in state.steps:
                    yield number, target, mark.tag if mark and not mark.opens else None
                if state.word is not None:
                    yield number, state.after, None

    @property
    def ends(self) -> tuple[int, int]:
        """The first and the accepting state, as `moves` numbers them."""
        return self._start, self._accept

    def _after(self, prefix: Sequence[str]) -> frozenset[int]:
        states = self._first
        for word in prefix:
            states = self._follow(states, word)
        return states

    def _next(self, states: frozenset[int]) -> frozenset[str]:
        said = (self._states[s].word for s in states)
        return frozenset(word for word in said if word is not None)

    def _follow(self, states: frozenset[int], word: str) -> frozenset[int]:
        # The subset construction, one step at a time and only where somebody walks.
        if (states, word) not in self._followed:
            moved = [(self._states[s].after, None) for s in states if self._states[s].word == word]
            reached = frozenset(state for state, _ in self._reach(moved, 0))
            if not reached:
                return reached  # words outside the language are not worth keeping
            self._followed[states, word] = reached
        return self._followed[states, word]

    def _reach(
        self, threads: Sequence[tuple[int, _Passed | None]], at: int
    ) -> list[tuple[int, _Passed | None]]:
        """Follow the arcs that need no word; the first thread to reach a state is the best one there."""
        seen: set[int] = set()
        settled = []
        waiting = list(reversed(threads))
        while waiting:
            state, marks = waiting.pop()
            if state in seen or state not in self._live:
                continue
            seen.add(state)
            here = self._states[state]
            if here.word is not None or state == self._accept:
                settled.append((state, marks))
            for target, mark in reversed(here.steps):
                waiting.append((target, _Passed(marks, mark, at) if mark else marks))
        return settled

    def _vocabulary(self) -> Iterator[str]:
        seen = {self._start}
        waiting = [self._start]
        while waiting:
            here = self._states[waiting.pop()]
            if here.word is not None and here.after in self._live:
                yield here.word
            targets = set(here.targets()) & self._live
            waiting += targets - seen
            seen |= targets


def _closed(last: _Passed | None) -> tuple[Span, ...]:
    marks = []
    while last is not None:
        marks.append((last.mark, last.at))
        last = last.before
    opened: list[int] = []
    spans = []
    for mark, at in reversed(marks):
        if mark.opens:
            opened.append(at)
        else:
            spans.append(Span(mark.tag, opened.pop(), at))
    return tuple(spans)


def _leading_to(states: Sequence[State], accept: int) -> frozenset[int]:
    """Give the states from which the end can be reached; the others are as if not written."""
    before: dict[int, list[int]] = {}
    for number, state in enumerate(states):
        for target in state.targets():
            before.setdefault(target, []).append(number)
    live = {accept}
    waiting = [accept]
    while waiting:
        new = set(before.get(waiting.pop(), ())) - live
        live |= new
        waiting += new
    return frozenset(live)
