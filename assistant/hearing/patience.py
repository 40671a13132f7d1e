"""How long a pause must be before speech has ended: it depends on what was said so far.

At the first short pause the speech is decoded. Where nothing else can follow, or only what means the
same ("next", "next step"), the pause need not be long. Where the words are but the beginning of a phrase
("number four"), it may be longer than usual. Nothing is acted on before the pause has been as long as that.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final

from assistant.hearing.grammar import Grammar

_MOST_WAYS_ON: Final = 12
"""So many ways to go on are looked at; where there are more, one of them surely means something else."""


@dataclass(frozen=True, kw_only=True)
class Patience:
    """The pauses, in seconds, that end speech, by what was heard before them.

    Measured with plain whisper at 20 dB on 19 phrases of two natural synthetic voices, with silence of 0.2, 0.3, 0.4
    and 0.6 s put between any two of their words, each part said by itself (about 330 cases). Acted on otherwise
    than meant: 20 with a fixed pause of 0.45 s, 12 of them values that had lost their beginning ("five millimetres"
    of "point two five millimetres"); 7 with these pauses: one such value ("half turns"), three misheard whole, and
    three words that are whole in themselves, before 0.6 s: "stop ... the timer", twice "torque ... head bolts".
    `closed_s` of 0.16 and 0.2 gave the same; with `usual_s` at 0.35 "stop" was cut off at 0.4 s too.
    One of the voices again, with the endpointer's limits as they are now: 11 and 4 of about 170.
    """

    closed_s: float = 0.16  # nothing else can follow
    usual_s: float = 0.38  # it is whole, and something may follow; or it was not understood
    open_s: float = 0.9  # it is only the beginning of what can be said


def pause_after(words: Sequence[str], grammar: Grammar, patience: Patience, *, accepted: bool) -> float:
    """Give the pause, in seconds, that ends speech in which these words were heard so far.

    `accepted` says that they are whole and sure enough to be acted on.
    """
    if not words:
        return patience.usual_s
    if not grammar.is_whole(words):
        return patience.open_s if grammar.next_words(words) else patience.usual_s
    if lacks_its_unit(words, grammar):
        return patience.open_s
    return patience.closed_s if accepted and is_settled(words, grammar) else patience.usual_s


def lacks_its_unit(words: Sequence[str], grammar: Grammar) -> bool:
    """Tell whether a value was said to which more figures or a unit may still come: half of it is another value."""
    match = grammar.match(words)
    last = match.intents[-1].slots if match and match.intents else {}
    return "value" in last and "unit" not in last and bool(grammar.next_words(words))


def is_settled(words: Sequence[str], grammar: Grammar) -> bool:
    """Tell whether a whole phrase keeps its meaning, however it may go on."""
    match = grammar.match(words)
    longer = list(islice(_longer(tuple(words), grammar), _MOST_WAYS_ON + 1))
    if match is None or len(longer) > _MOST_WAYS_ON:
        return False
    others = (grammar.match(phrase) for phrase in longer)
    return all(other is not None and other.means_the_same(match) for other in others)


def _longer(words: tuple[str, ...], grammar: Grammar) -> Iterator[tuple[str, ...]]:
    """Give the longer phrases that begin with these words, the shortest of each kind first."""
    for word in sorted(grammar.next_words(words)):
        phrase = (*words, word)
        if grammar.is_whole(phrase):
            yield phrase
        yield from _longer(phrase, grammar)
