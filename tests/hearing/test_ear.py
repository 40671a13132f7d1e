from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, repeat

import numpy as np
import pytest

from assistant.hearing.ear import OwnVoice, listen
from assistant.hearing.endpointing import Endpointer, Utterance
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.grammar import Grammar, load_grammar
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recogniser
from assistant.sound import Samples

STEP, SPEAKING = load_grammar("step"), load_grammar("speaking")
LOUD, QUIET = np.ones(512, dtype=np.float32), np.zeros(512, dtype=np.float32)


class Scripted:
    """An engine that hears the words it was told to hear, and a detector that takes loud for speech."""

    name = "whisper"

    def __init__(self, *words: str) -> None:
        self._words = iter(words)
        self.grammars: list[str] = []

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Hear the next words, without doubt."""
        assert len(samples)
        self.grammars.append(grammar.name)
        words = tuple(next(self._words).split())
        return Decoded(guesses=(Guess(words=words, score=0.0),), free=Guess(words=words, score=0.0))

    def unknown(self, words: object) -> tuple[str, ...]:
        """Know every word."""
        del words
        return ()

    def probability(self, block: Samples) -> float:
        """Take loud blocks for speech."""
        return float(block[0])

    def reset(self) -> None:
        """Forget nothing."""


class Blocks:
    """A source of blocks."""

    def __init__(self, *runs: tuple[Samples, int]) -> None:
        self._runs = runs

    def blocks(self) -> Iterator[Samples]:
        """Give the runs of blocks."""
        for block, times in self._runs:
            for _ in range(times):
                yield block


def test_utterances_are_heard_one_after_the_other() -> None:
    """Each stretch of speech is decoded once, with where it lies in the stream."""
    ear = Scripted("done", "next")
    source = Blocks((QUIET, 20), (LOUD, 15), (QUIET, 20), (LOUD, 15), (QUIET, 20))
    heard = list(listen(source, Recogniser(ear), lambda: STEP, endpointer=Endpointer(detector=ear)))
    assert [each.heard for each in heard] == [("done",), ("next",)]
    assert all(each.accepted for each in heard)
    assert heard[0].start_s == 20 * 0.032


def test_only_stop_words_count_while_the_assistant_speaks() -> None:
    """What is said into its own voice is heard against the stop words alone."""
    ear, voice = Scripted("done", "stop"), OwnVoice()
    voice.begin()
    source = Blocks((QUIET, 20), (LOUD, 15), (QUIET, 20), (LOUD, 15), (QUIET, 20))
    heard = listen(
        source,
        Recogniser(ear),
        lambda: STEP,
        stop_words=SPEAKING,
        own_voice=voice,
        endpointer=Endpointer(detector=ear),
    )
    assert [each.heard for each in heard] == [("stop",)]
    assert set(ear.grammars) == {"speaking"}


class Keen(Scripted):
    """One whose detector takes all that is not silent for speech, however faint."""

    def probability(self, block: Samples) -> float:
        """Take any sound for speech."""
        return float(block[0] > 0)


@pytest.mark.parametrize("speaks", [True, False])
def test_faint_speech_is_let_pass_only_while_the_assistant_speaks(speaks: bool) -> None:  # noqa: FBT001
    """So faint is its own voice in a headset; where it is silent, that is a mechanic far away."""
    ear, voice, faint = Keen("stop"), OwnVoice(), np.full(512, 1e-3, dtype=np.float32)
    if speaks:
        voice.begin()
    heard = listen(
        Blocks((QUIET, 20), (faint, 15), (QUIET, 20)),
        Recogniser(ear),
        lambda: STEP,
        stop_words=SPEAKING,
        own_voice=voice,
        endpointer=Endpointer(detector=ear),
    )
    assert len(list(heard)) == int(not speaks)


def test_long_talk_is_told_once_and_not_decoded() -> None:
    """Speech longer than any command is refused as talk."""
    ear = Scripted()
    source = Blocks((LOUD, 500), (QUIET, 20))
    (heard,) = listen(source, Recogniser(ear), lambda: STEP, endpointer=Endpointer(detector=ear))
    assert (heard.accepted, heard.asked, heard.intents[0].name) == (False, False, "too-long")
    assert ear.grammars == []


TIGHTEN = load_grammar("tighten")


def test_a_phrase_cut_by_a_pause_is_taken_whole() -> None:
    """What was decoded at the pause is shown, never acted on, where speech goes on."""
    ear, seen = Scripted("number four", "number four done", "number four done next"), list[str]()
    source = Blocks((QUIET, 20), (LOUD, 15), (QUIET, 20), (LOUD, 15), (QUIET, 8), (LOUD, 9), (QUIET, 30))
    heard = listen(
        source,
        Recogniser(ear),
        lambda: TIGHTEN,
        on_partial=lambda words: seen.append(" ".join(words)),
        endpointer=Endpointer(detector=ear),
    )
    assert [" ".join(each.heard) for each in heard] == ["number four done next"]
    assert seen == ["number four", "number four done", "number four done next"]


def test_what_was_decoded_at_the_pause_is_decoded_once() -> None:
    """The early decoding counts where speech does not go on: the engine is not asked again."""
    ear = Scripted("repeat")
    source = Blocks((QUIET, 20), (LOUD, 15), (QUIET, 40))
    (heard,) = listen(source, Recogniser(ear), lambda: STEP, endpointer=Endpointer(detector=ear))
    assert heard.heard == ("repeat",)
    assert ear.grammars == ["step"]


class InDoubt(Scripted):
    """The engine that is heard twice, in doubt about everything; it keeps how much sound it was given."""

    name = "whisper-shop"

    def __init__(self, *words: str) -> None:
        super().__init__(*words)
        self.lengths: list[int] = []

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Hear the next words, with evidence for a confidence of two thirds."""
        self.lengths.append(len(samples))
        return replace(super().decode(samples, grammar), signals={"sounds": 0.6, "sounds_ahead": 1.6})


@pytest.mark.parametrize(("words", "accepted"), [(("repeat", "repeat"), True), (("repeat", "softer"), False)])
def test_what_is_in_doubt_at_the_pause_is_heard_again_as_it_goes_on(
    words: tuple[str, str], *, accepted: bool
) -> None:
    """With the quiet after it, it counts where it is the same; else it is asked for again."""
    ear = InDoubt(*words)
    source = Blocks((QUIET, 20), (LOUD, 15), (QUIET, 40))
    (heard,) = listen(source, Recogniser(ear), lambda: STEP, endpointer=Endpointer(detector=ear))
    assert (heard.heard, heard.accepted, heard.asked) == (("repeat",), accepted, not accepted)
    first, second = ear.lengths
    assert second > first


def test_what_is_said_between_presses_is_taken_whole() -> None:
    """With the key on, pauses and faint speech do not matter; without it, nothing is heard where it is needed."""

    class Keyed(Press):
        """A key that is on from the 40th look, for a while."""

        looks = 0

        @property
        def is_on(self) -> bool:
            """Count the looks."""
            self.looks += 1
            return 40 <= self.looks < 200

    ear, faint = Scripted("done"), np.full(512, 0.3, dtype=np.float32)
    source = Blocks((LOUD, 15), (QUIET, 40), (faint, 20), (QUIET, 25), (faint, 20), (QUIET, 100))
    press = Keyed(only=True)
    (heard,) = listen(source, Recogniser(ear), lambda: STEP, endpointer=Endpointer(detector=ear), press=press)
    assert (heard.heard, heard.accepted) == (("done",), True)
    assert ear.grammars == ["step"]


def test_what_is_not_understood_between_presses_is_asked_for_again() -> None:
    """Who pressed the key meant to be heard."""
    refused = Recogniser(Scripted("you what")).recognise(
        Utterance(np.zeros(8000, np.float32), 0, 0.5), STEP, pressed=True
    )
    assert (refused.accepted, refused.asked) == (False, True)


def test_what_can_be_said_may_change_within_the_pause() -> None:
    """A question that was asked meanwhile is not answered by what was decoded before it."""
    ear, grammars = Scripted("done", "yes"), chain([STEP], repeat(load_grammar("question")))
    source = Blocks((QUIET, 20), (LOUD, 15), (QUIET, 40))
    (heard,) = listen(source, Recogniser(ear), lambda: next(grammars), endpointer=Endpointer(detector=ear))
    assert heard.heard == ("yes",)
    assert ear.grammars == ["step", "question"]
