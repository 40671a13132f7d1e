"""The sounds of all that a grammar allows, as one net, made once for a grammar and searched by `hearing.trellis`.

Between its nodes lie words, and of each word every way in which it may sound. Words that lead to the same node and
sound alike are one chain of sounds, wherever they come from.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Final

import numpy as np
import numpy.typing as npt

from assistant.errors import HearingError
from assistant.hearing.automaton import Node
from assistant.hearing.grammar import Grammar
from assistant.hearing.pronouncing import Sounds, ways
from assistant.procedure.sounds import CONSONANTS, VOWELS

BLANK: Final = 0
CLASSES: Final = ("", *sorted(VOWELS | CONSONANTS))
"""What a frame may be: the blank, or one of the 39 sounds."""

Chain = tuple[int, ...]
"""A word's sounds, by their places in CLASSES."""
Indices = npt.NDArray[np.intp]

_NONE: Final[Mapping[str, Sounds]] = MappingProxyType({})
_NUMBERS: Final = {sound: number for number, sound in enumerate(CLASSES)}


@dataclass(frozen=True, kw_only=True, eq=False)
class Chains:
    """The sounds of all chains, one chain after the other.

    `firsts` and `lasts` are where each begins and ends, `twins` all places that the same sound follows within a word.
    """

    phones: Indices
    firsts: Indices
    lasts: Indices
    twins: Indices


@dataclass(frozen=True, kw_only=True, eq=False)
class Gates:
    """How one comes from a chain into the chains behind it, where between two same sounds there must be a blank.

    A gate leads on from its node (`at`) into all chains but those that begin with the sound it bars, the last one of
    the chain before it. The first gates, in the order of the nodes, bar nothing. `behind` is the gate behind each
    chain. `entries` has the chains of all `open` gates, gate by gate, and `starts` where those of each begin; the
    other gates have none.
    """

    behind: Indices
    at: Indices
    open: Indices
    entries: Indices
    starts: Indices


@dataclass(frozen=True, kw_only=True, eq=False)
class Net:
    """All sentences of a grammar as chains of sounds between nodes; node 0 is the beginning.

    `onward` gives by node the words that leave it, and the chain of each; a word with several ways to sound is there
    once for each. `ways` has these by word.
    """

    nodes: tuple[Node, ...]
    ways: Mapping[str, tuple[Chain, ...]]
    onward: tuple[tuple[tuple[str, ...], Indices], ...]
    chains: Chains
    gates: Gates


def net_of(grammar: Grammar) -> Net:
    """Make the net of a grammar. Raises HearingError where the grammar's own sounds of a word are none."""
    given = {word: tuple(sounds.split()) for word, sounds in grammar.sounds.items()}
    sounding = {word: chains_of(word, given) for word in grammar.words}
    nodes = grammar.nodes()
    numbers: dict[tuple[Chain, int], int] = {}  # by the sounds of a chain and the node that it leads to
    onward = tuple(_onward(node, sounding, numbers) for node in nodes)
    return Net(
        nodes=nodes,
        ways=sounding,
        onward=onward,
        chains=_chains([chain for chain, _ in numbers]),
        gates=_gates(numbers, [leaving for _, leaving in onward]),
    )


def chains_of(word: str, given: Mapping[str, Sounds] = _NONE) -> tuple[Chain, ...]:
    """Give every way in which a word may sound; `given` are the author's own.

    Raises HearingError where one of these is no row of sounds.
    """
    try:
        found = tuple(tuple(_NUMBERS[sound] for sound in way) for way in ways(word, given))
    except KeyError as error:
        known = " ".join(CLASSES[1:])
        raise HearingError(f"{error.args[0]!r} is no sound", where=word, do=f"use {known}") from None
    if not all(found):
        raise HearingError("a word has no sounds", where=word, do="say how it sounds, or leave that out")
    return found


def _onward(
    node: Node, sounding: Mapping[str, tuple[Chain, ...]], numbers: dict[tuple[Chain, int], int]
) -> tuple[tuple[str, ...], Indices]:
    """List the words that leave a node and their chains; new ones are added to `numbers`."""
    leaving = [(word, chain, target) for word, target in node.after.items() for chain in sounding[word]]
    found = [numbers.setdefault((chain, target), len(numbers)) for _, chain, target in leaving]
    return tuple(word for word, _, _ in leaving), _indices(found)


def _chains(chains: Sequence[Chain]) -> Chains:
    # No sound is like the blank that stands here for the end of a word.
    same = [one == other for chain in chains for one, other in pairwise((*chain, BLANK))]
    ends = np.cumsum([len(chain) for chain in chains])
    return Chains(
        phones=_indices(phone for chain in chains for phone in chain),
        firsts=_indices([0, *ends[:-1]]),
        lasts=_indices(ends - 1),
        twins=np.flatnonzero(same),
    )


def _gates(chains: Iterable[tuple[Chain, int]], leaving: Sequence[Indices]) -> Gates:
    """Make the gates; `leaving` are the chains that leave each node."""
    begins = np.asarray([chain[0] for chain, _ in chains])
    barring = {(node, BLANK): node for node in range(len(leaving))}  # the gates by node and barred sound
    behind = []
    for chain, node in chains:
        barred = chain[-1] if chain[-1] in begins[leaving[node]] else BLANK
        behind.append(barring.setdefault((node, barred), len(barring)))
    entries = [leaving[node][begins[leaving[node]] != barred] for node, barred in barring]
    return Gates(
        behind=_indices(behind),
        at=_indices(node for node, _ in barring),
        open=np.flatnonzero([len(each) for each in entries]),
        entries=np.concatenate(entries),
        starts=_indices([0, *np.cumsum([len(each) for each in entries if len(each)])[:-1]]),
    )


def _indices(numbers: Iterable[int]) -> Indices:
    return np.fromiter(numbers, dtype=np.intp)
