"""What a second engine is asked for, and what it settles."""

from collections.abc import Iterable

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing.endpointing import Utterance
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.engines import engines
from assistant.hearing.grammar import Grammar, load_grammar
from assistant.hearing.opening import SECONDS
from assistant.hearing.recogniser import Recogniser
from assistant.hearing.words import words_of
from assistant.sound import RATE, Samples

STEP = load_grammar("step")
UTTERANCE = Utterance(np.zeros(RATE // 2, np.float32), 0.0, 0.5)
SURE, DOUBTFUL, TALK = 0.0, -4.5, -12.0


class Hears:
    """An engine that hears the same whatever it is given, and counts how often it was asked."""

    name = "whisper-shop"

    def __init__(self, words: str, score: float = SURE) -> None:
        self.words, self.score, self.asked = words_of(words), score, 0

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Hear it."""
        del samples, grammar
        self.asked += 1
        guess = Guess(words=self.words, score=self.score)
        return Decoded(guesses=(guess,), free=guess)

    def unknown(self, words: Iterable[str]) -> tuple[str, ...]:
        """Know every word."""
        del words
        return ()


class CannotSpell(Hears):
    """An engine that lacks a word of the grammar."""

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Refuse."""
        del samples, grammar
        raise HearingError("a word is unknown")


@pytest.mark.parametrize(("second", "accepted"), [("done", True), ("next", False), ("gibberish", False)])
def test_a_doubt_is_settled_by_another_engine_that_hears_the_same(second: str, *, accepted: bool) -> None:
    """What two engines hear alike is acted on; what they hear differently is asked again."""
    alone = Recogniser(Hears("done", DOUBTFUL)).recognise(UTTERANCE, STEP)
    assert (alone.accepted, alone.asked) == (False, True)
    heard = Recogniser(Hears("done", DOUBTFUL), second=Hears(second)).recognise(UTTERANCE, STEP)
    assert (heard.accepted, heard.asked) == (accepted, not accepted)


@pytest.mark.parametrize("score", [SURE, TALK])
def test_nobody_is_asked_where_there_is_no_doubt(score: float) -> None:
    """What is sure needs no second opinion, and what is taken for talk gets none."""
    second = Hears("done")
    Recogniser(Hears("done", score), second=second).recognise(UTTERANCE, STEP)
    assert second.asked == 0


def test_what_is_grave_is_not_taken_on_a_second_opinion() -> None:
    """Undo is asked again however many engines think that they heard it."""
    heard = Recogniser(Hears("undo", DOUBTFUL), second=Hears("undo")).recognise(UTTERANCE, STEP)
    assert (heard.accepted, heard.asked) == (False, True)


def test_a_second_engine_that_lacks_a_word_settles_nothing() -> None:
    """A grammar that only the first engine can hear leaves the doubt as it is."""
    heard = Recogniser(Hears("done", DOUBTFUL), second=CannotSpell("done")).recognise(UTTERANCE, STEP)
    assert (heard.accepted, heard.asked) == (False, True)


def test_every_engine_that_gives_or_asks_a_second_opinion_exists() -> None:
    """The table of second opinions names engines of the registry, none itself."""
    names = {entry.name for entry in engines()}
    assert set(SECONDS) | set(SECONDS.values()) <= names
    assert all(first != second for first, second in SECONDS.items())
