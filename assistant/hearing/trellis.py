"""Which sentence of a grammar explains best what a network heard in each frame, and which come next to it.

The network gives for each frame the log probabilities of the classes of `phone_net` (connectionist temporal
classification, Graves and others 2006, from memory): a sound may last for many frames, blanks may stand between
sounds, and between two same sounds a blank must, or "zero" could always be "zero oh" as well. A sentence scores as its
best path does (Viterbi).

The search goes once over all frames, backwards and through the whole net, as token passing does forwards (Young and
others 1989, from memory): how well can the rest be explained if this word begins here? Knowing that exactly, it then
follows only the beginnings that lead to the best sentences (A*), so what it finds is exactly the best.

Arrays of log probabilities have the shape (frames, classes).
"""

from collections.abc import Iterator, Mapping, Sequence
from heapq import heappop, heappush
from itertools import islice, pairwise
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from assistant.hearing.engine import Guess
from assistant.hearing.phone_net import BLANK, Chain, Net, chains_of

Logs = npt.NDArray[np.floating[Any]]
Floats = npt.NDArray[np.float64]
Reached = Mapping[int, Floats]
"""How well a beginning of a sentence explains so many frames, by the class of the last: (frames + 1,) each, in log."""

_LEAST: Final = -1000.0  # of one frame, in log: as good as never, and yet sums of it stay numbers
_EQUAL: Final = 6  # decimals; scores that differ by less do so by rounding


def best(net: Net, logs: Logs, most: int = 5) -> tuple[Guess, ...]:
    """Give the best sentences, no two with the same words, best first; none where all are too long for the frames.

    The scores are those of `forced`: log probabilities of the best path.
    """
    found = islice(_Search(net, _bounded(logs)).sentences(), most) if len(logs) else ()
    return tuple(sorted(found, key=lambda guess: -guess.score))


def forced(net: Net, logs: Logs, words: Sequence[str]) -> float:
    """Score given words, of the grammar or not, each sounding as fits best; -inf if too long for the frames.

    No words score as silence does.
    """
    sums = _sums(_bounded(logs))
    reached = _begun(sums)
    for word in words:
        reached = _said(reached, net.ways.get(word) or chains_of(word), sums)
    return _whole(reached)


def free(logs: Logs) -> float:
    """Score the best path of all, which no grammar restricts."""
    return float(_bounded(logs).max(axis=1).sum())


class _Beginning(NamedTuple):
    """Words that a sentence may begin with; those that may lead to the best score come first.

    `reached` is before the last word, which is not worth following yet; where `whole`, it is behind it.
    """

    cost: float
    order: int
    words: tuple[str, ...]
    node: int
    reached: Reached
    whole: bool


class _Search:
    """One search through a net."""

    def __init__(self, net: Net, logs: Floats) -> None:
        self._net = net
        self._sums = _sums(logs)
        self._rest = _rest(net, logs)
        self._waiting: list[_Beginning] = []
        self._order = 0

    def sentences(self) -> Iterator[Guess]:
        """Find one sentence after the other, the best first."""
        self._go_on((), 0, _begun(self._sums))
        while self._waiting:
            _, _, words, node, reached, whole = heappop(self._waiting)
            if whole:
                yield Guess(words=words, score=_whole(reached))
                continue
            reached = _said(reached, self._net.ways[words[-1]], self._sums)
            if self._net.nodes[node].whole:
                self._wait(_whole(reached), words, node, reached, whole=True)
            self._go_on(words, node, reached)

    def _go_on(self, words: tuple[str, ...], node: int, reached: Reached) -> None:
        following, scores = self._net.onward[node][0], self._promised(node, reached).tolist()
        promised: dict[str, float] = {}
        for word, score in zip(following, scores, strict=True):
            promised[word] = max(score, promised.get(word, score))
        for word, score in promised.items():
            self._wait(score, (*words, word), self._net.nodes[node].after[word], reached, whole=False)

    def _promised(self, node: int, reached: Reached) -> Floats:
        """Score the best sentences through each chain that leaves a node."""
        numbers = self._net.onward[node][1]
        begins = self._net.chains.phones[self._net.chains.firsts[numbers]]
        rest = self._rest[:, numbers]
        ways = [
            np.where(begins != last, (score[:-1, np.newaxis] + rest).max(axis=0), -np.inf)
            for last, score in reached.items()
        ]
        promised: Floats = np.max(ways, axis=0, initial=-np.inf)
        return promised

    def _wait(
        self, score: float, words: tuple[str, ...], node: int, reached: Reached, *, whole: bool
    ) -> None:
        if score > -np.inf:
            # Of equals the latest comes first, so that one is followed to its end before the others are begun.
            self._order -= 1
            heappush(
                self._waiting, _Beginning(round(-score, _EQUAL), self._order, words, node, reached, whole)
            )


def _rest(net: Net, logs: Floats) -> Floats:
    """Score all frames from each one to the end if a chain begins in it: of shape (frames, chains)."""
    chains, gates = net.chains, net.gates
    entered = np.empty((len(logs), len(chains.firsts)))
    node = np.where([each.whole for each in net.nodes], 0.0, -np.inf)  # as the first gates, which bar nothing
    gate = node[gates.at]
    phone, blank, after = np.full((3, len(chains.phones)), -np.inf)
    for frame in reversed(range(len(logs))):
        after[:-1] = phone[1:]
        after[chains.lasts] = gate[gates.behind]
        going_on = np.maximum(phone, blank)
        # The blank behind the last sound of a word does no harm; the one before the next word is as good.
        blank = np.maximum(blank, after) + logs[frame, BLANK]
        after[chains.twins] = -np.inf
        phone = np.maximum(going_on, after) + logs[frame, chains.phones]
        entered[frame] = phone[chains.firsts]
        node = gate[: len(node)] + logs[frame, BLANK]
        gate = node[gates.at]
        onward = np.maximum.reduceat(entered[frame, gates.entries], gates.starts)
        gate[gates.open] = np.maximum(gate[gates.open], onward)
    return entered


def _begun(sums: Floats) -> Reached:
    """Begin with blanks, or with none."""
    return {BLANK: sums[BLANK]}


def _said(reached: Reached, chains: Sequence[Chain], sums: Floats) -> Reached:
    """Say a word, in the way that fits best at each frame, and blanks after it or none."""
    ended: dict[int, Floats] = {}
    for chain in chains:
        score = _sounded(_before(reached, chain[0]), chain, sums)
        ended[chain[-1]] = np.maximum(ended.get(chain[-1], score), score)
    return {BLANK: _held(np.max([*ended.values()], axis=0), sums[BLANK]), **ended}


def _sounded(reached: Floats, chain: Chain, sums: Floats) -> Floats:
    heard = _held(reached, sums[chain[0]])
    for before, phone in pairwise(chain):
        last = {before: heard, BLANK: _held(heard, sums[BLANK])}
        heard = _held(_before(last, phone), sums[phone])
    return heard


def _before(reached: Reached, phone: int) -> Floats:
    """Choose the best that may stand before a sound: anything but the same sound."""
    found: Floats = np.max([score for last, score in reached.items() if last != phone], axis=0)
    return found


def _whole(reached: Reached) -> float:
    """Score all frames."""
    return max(float(score[-1]) for score in reached.values())


def _held(reached: Floats, sums: Floats) -> Floats:
    """Go into a class from any frame on, and stay in it for one frame or more; `sums` are of its log probabilities."""
    held = np.full_like(reached, -np.inf)
    held[1:] = sums[1:] + np.maximum.accumulate(reached[:-1] - sums[:-1])
    return held


def _sums(logs: Floats) -> Floats:
    """Sum the log probabilities of each class up to each frame: of shape (classes, frames + 1)."""
    return np.concatenate([np.zeros((1, logs.shape[1])), logs.cumsum(axis=0)]).T.copy()


def _bounded(logs: Logs) -> Floats:
    return np.maximum(logs, _LEAST, dtype=np.float64)
