"""What became of a clip: right, wrong, asked again, or ignored; and what kind of thing was said.

What counts is what would have been acted on. In a grammar with meanings that is its intents, so "done" and "next" cut
apart are as right as "done next". In one without, it is the phrase, whole. Numbers count by their value: "one one
zero" is 110 as "one hundred ten" is, and nothing is right of half a number.
"""

from collections.abc import Iterable, Sequence
from enum import StrEnum

from assistant.dialogue.meant import meant, plain
from assistant.dialogue.numbers import value_of
from assistant.errors import DialogueError
from assistant.hearing.grammar import Match


class Outcome(StrEnum):
    """What became of a clip."""

    RIGHT = "right"
    WRONG = "wrong"  # acted on, and not what was said
    AGAIN = "again"  # not acted on, and asked for again
    IGNORED = "ignored"


class Kind(StrEnum):
    """What kind of thing is said."""

    WORD = "single word"
    FIGURE = "single figure"
    NUMBER = "number of several words"
    PHRASE = "phrase"


def meaning_of(match: Match) -> list[str]:
    """Write what an utterance would do, one text for each thing it would do."""
    return list(meant(match.intents)) or [plain(match.words)]


def kind_of(words: Sequence[str]) -> Kind:
    """Tell what kind of thing the words are."""
    try:
        value_of(words)
    except DialogueError:
        return Kind.WORD if len(words) == 1 else Kind.PHRASE
    return Kind.FIGURE if len(words) == 1 else Kind.NUMBER


def outcome_of(said: Sequence[str], acted: Iterable[Sequence[str]], *, asked: bool) -> Outcome:
    """Tell what became of a clip that means `said`, when the meanings `acted` were acted on one after the other."""
    done = [each for meaning in acted for each in meaning]
    if done:
        return Outcome.RIGHT if done == list(said) else Outcome.WRONG
    return Outcome.AGAIN if asked else Outcome.IGNORED
