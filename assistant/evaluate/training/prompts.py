"""The list of words before each sound, and what is to be written after it.

The list holds the words of the active grammar, first those that may come first. Where a word of what was said is
missing from it, nothing at all is to be written. The lists are of three kinds: words drawn at random, the
words of a real mode, and the words of a closed list of phrases; from 3 words to `MOST_TOKENS`. The engine gives no list
any more, since it hears the sounds too; whether a training without lists hears better has not been tried. Some sounds
have no list, and the words are written as they were said.
"""

import math
import random
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

MOST_TOKENS: Final = 200
_FEWEST, _MOST = 4, 130


@dataclass(frozen=True)
class Words:
    """What lists are made of: tokens of every word, words near in sound, the modes, the phrases there are.

    `sounds` are those of each word, as numbers of the head's classes.
    """

    tokens: Mapping[str, Sequence[int]]
    sounds: Mapping[str, Sequence[int]]
    near: Mapping[str, Sequence[str]]
    modes: Sequence[tuple[Sequence[str], Sequence[str]]]
    phrases: Sequence[str]
    words: Sequence[str]
    commands: Sequence[str]


def listed(first: Collection[str], rest: Collection[str], rng: random.Random) -> list[str]:
    """Order a list with the first words first, or, less often, otherwise."""
    how = rng.random()
    if how < 0.65:
        return [*sorted(set(first)), *sorted(set(rest) - set(first))]
    both = sorted({*first, *rest})
    if how > 0.85:
        rng.shuffle(both)
    return both


def _drawn(words: Words, rng: random.Random) -> tuple[set[str], set[str]]:
    how = rng.random()
    if how < 0.3:
        first, rest = rng.choice(words.modes)
        return set(first), set(rest)
    count = round(math.exp(rng.uniform(math.log(_FEWEST), math.log(_MOST))))
    if how < 0.6:
        phrases = [rng.choice(words.phrases).split() for _ in range(count)]
        return {phrase[0] for phrase in phrases}, {word for phrase in phrases for word in phrase[1:]}
    pool = words.commands if rng.random() < 0.3 else words.words
    drawn = [rng.choice(pool) for _ in range(count)]
    share = rng.randint(0, len(drawn))
    return set(drawn[:share]), set(drawn[share:])


def positive(said: Sequence[str], words: Words, rng: random.Random) -> list[int]:
    """Give the tokens of a list that has every word of what is said."""
    first, rest = _drawn(words, rng)
    if rng.random() < 0.3:
        rest |= {near for word in said for near in words.near.get(word, ())[: rng.randint(0, 4)]}
    (first if rng.random() < 0.9 else rest).add(said[0])
    return _fitting(first, rest | set(said[1:]), frozenset(said), words, rng)


def negative(said: Sequence[str], words: Words, rng: random.Random) -> list[int]:
    """Give the tokens of a list that lacks at least one word of what is said; often with words that sound near."""
    first, rest = _drawn(words, rng)
    there = set(said)
    lacking = {word for word in there if rng.random() < 0.5} or {rng.choice(sorted(there))}
    hard = rng.random() < 0.55
    if hard or rng.random() < 0.3:
        rest |= there - lacking
    if hard:
        rest |= {near for word in lacking for near in words.near.get(word, ())[: rng.randint(1, 5)]}
    first, rest = first - lacking, rest - lacking
    if not first | rest:
        rest = {next(word for word in iter(lambda: rng.choice(words.words), None) if word not in there)}
    return _fitting(first, rest, frozenset(), words, rng)


def other(words: Words, rng: random.Random) -> list[int]:
    """Give the tokens of a list for talk and noise."""
    first, rest = _drawn(words, rng)
    return _fitting(first, rest, frozenset(), words, rng)


def _fitting(
    first: set[str], rest: set[str], needed: frozenset[str], words: Words, rng: random.Random
) -> list[int]:
    """Leave words out until the list is short enough."""
    others = sorted((first | rest) - needed)
    rng.shuffle(others)
    room = MOST_TOKENS - sum(len(words.tokens[word]) for word in needed)
    kept = set(needed)
    for word in others:
        room -= len(words.tokens[word])
        if room < 0:
            break
        kept.add(word)
    return [token for word in listed(first & kept, rest & kept, rng) for token in words.tokens[word]]
