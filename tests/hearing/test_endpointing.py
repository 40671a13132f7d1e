"""Where speech begins and ends."""

from collections.abc import Iterable, Iterator

import numpy as np
import pytest

from assistant.hearing.detecting import Detector, SileroDetector
from assistant.hearing.endpointing import (
    BLOCK_S,
    Ended,
    Endpointer,
    Event,
    Limits,
    Paused,
    Started,
    TooLong,
    utterances,
)
from assistant.hearing.sources import BLOCK
from assistant.sound import RATE, Samples
from assistant.speaking.engines.espeak import EspeakVoice


class Scripted:
    """A detector that takes a block's level for the probability of speech."""

    def probability(self, block: Samples) -> float:
        """Give the level."""
        return float(block[0])

    def reset(self) -> None:
        """Nothing to forget."""


class Tiring(Scripted):
    """A detector that believes in less and less speech since it began, as the network does in some noises."""

    def __init__(self) -> None:
        self._fed = 0

    def probability(self, block: Samples) -> float:
        """Give the level, and nothing of it after twenty seconds."""
        self._fed += 1
        return max(0.0, 1 - self._fed * BLOCK_S / 20) * super().probability(block)

    def reset(self) -> None:
        """Begin afresh."""
        self._fed = 0


def blocks(*parts: tuple[float, float]) -> Iterator[Samples]:
    """Make blocks: pairs of probability and seconds."""
    for likely, seconds in parts:
        for _ in range(round(seconds / BLOCK_S)):
            yield np.full(BLOCK, likely, dtype=np.float32)


def cut(parts: Iterable[Samples], detector: Detector | None = None) -> list[Event]:
    """Cut a stream; the pauses that are told on the way are left out."""
    events = utterances(parts, Endpointer(detector or Scripted()))
    return [event for event in events if not isinstance(event, Paused)]


def test_speech_keeps_the_sound_before_and_the_pause_after() -> None:
    """Half a second before, the speech, and the pause that ended it."""
    started, ended = cut(blocks((0, 2), (1, 0.64), (0, 1)))
    assert isinstance(started, Started)
    assert isinstance(ended, Ended)
    assert ended.utterance.start_s == started.start_s == pytest.approx(2, abs=BLOCK_S)
    assert ended.utterance.speech_s == pytest.approx(0.64, abs=BLOCK_S / 2)
    limits = Limits()
    expected_s = limits.before_s + 0.64 + limits.pause_s
    assert len(ended.utterance.samples) / RATE == pytest.approx(expected_s, abs=2 * BLOCK_S)


def test_a_short_pause_does_not_end_speech() -> None:
    """Two words a quarter of a second apart are one utterance."""
    events = cut(blocks((0, 1), (1, 0.3), (0, 0.25), (1, 0.3), (0, 1)))
    assert [type(event) for event in events] == [Started, Ended]


def test_a_long_pause_ends_speech() -> None:
    """Two words a second apart are two utterances, and no sound belongs to both but the pause."""
    events = cut(blocks((0, 1), (1, 0.3), (0, 1), (1, 0.3), (0, 1)))
    assert [type(event) for event in events] == [Started, Ended] * 2


def test_a_click_is_no_speech() -> None:
    """What is shorter than any word is dropped."""
    assert [type(event) for event in cut(blocks((0, 1), (1, BLOCK_S), (0, 1)))] == [Started]


def test_doubt_is_heard_where_it_is_not_too_great() -> None:
    """A block that is likely enough begins speech though the detector is not sure; a very unlikely one does not."""
    assert cut(blocks((0.15, 2))) == []
    assert [type(event) for event in cut(blocks((0, 1), (0.3, 0.32), (0, 1)))] == [Started, Ended]


@pytest.mark.parametrize(("likeliest", "lasts_s"), [(1.0, 0.32), (0.3, 0.64)])
def test_what_is_a_pause_goes_by_the_likeliest(likeliest: float, lasts_s: float) -> None:
    """The same doubt is a pause in speech that was plain, and goes on with speech that was doubtful all along."""
    *_, ended = cut(blocks((0, 1), (likeliest, 0.32), (0.22, 0.32), (0, 1)))
    assert isinstance(ended, Ended)
    assert ended.utterance.speech_s == pytest.approx(lasts_s, abs=BLOCK_S / 2)


def test_a_machine_that_sounds_a_little_like_speech_swallows_no_command() -> None:
    """However long the doubt lasts, what is said into it begins where it is plain, and ends as always."""
    events = cut(blocks((0.25, 12), (1, 0.6), (0.25, 1), (1, 0.6), (0, 1)))
    ended = [event.utterance for event in events if isinstance(event, Ended)]
    assert [each.start_s for each in ended] == pytest.approx([12, 13.6], abs=BLOCK_S)
    assert [each.speech_s for each in ended] == pytest.approx([0.6, 0.6], abs=BLOCK_S)
    assert not any(isinstance(event, TooLong) for event in events)


def test_a_detector_that_gets_used_to_a_noise_begins_afresh() -> None:
    """A word after a minute in which nothing was said is noticed as one at the beginning is."""
    parts = ((0, 1), (1, 0.64), (0, 60), (1, 0.64), (0, 1))
    starts = [event.start_s for event in cut(blocks(*parts), Tiring()) if isinstance(event, Started)]
    assert starts == pytest.approx([1, 61.64], abs=2 * BLOCK_S)


def test_a_word_is_not_cut_where_the_detector_begins_afresh() -> None:
    """It begins afresh in the quiet alone, so that a word has one beginning and one end wherever it lies."""
    for before_s in (7.5, 7.7, 7.9, 8.0):
        assert [type(event) for event in cut(blocks((0, before_s), (1, 0.64), (0, 1)), Tiring())] == [
            Started,
            Ended,
        ]


def test_a_soft_beginning_belongs_to_the_word() -> None:
    """Doubt right before plain speech is its first sound."""
    *_, ended = cut(blocks((0, 1), (0.3, 0.2), (1, 0.4), (0, 1)))
    assert isinstance(ended, Ended)
    assert ended.utterance.start_s == pytest.approx(1, abs=BLOCK_S)


def test_talk_is_told_once_and_then_forgotten() -> None:
    """Speech longer than any command gives one event, and a command after it is heard."""
    events = cut(blocks((0, 1), (1, 30), (0, 1), (1, 0.5), (0, 1)))
    assert [type(event) for event in events] == [Started, TooLong, Started, Ended]
    told = events[1]
    assert isinstance(told, TooLong)
    assert told.end_s - told.start_s == pytest.approx(Limits().longest_s, abs=2 * BLOCK_S)


def test_how_long_talk_goes_on_is_known() -> None:
    """From its beginning, as soon as it is longer than any command, and until it ends."""
    endpointer, lasted = Endpointer(Scripted()), list[float]()
    for block in blocks((0, 2), (1, 30), (0, 2)):
        endpointer.push(block)
        lasted.append(endpointer.talk_s)
    assert max(lasted) == pytest.approx(30 + Limits().pause_s, abs=0.1)
    assert min(filter(None, lasted)) == pytest.approx(Limits().longest_s, abs=0.1)
    assert lasted[-1] == 0


def test_the_end_of_the_stream_ends_speech() -> None:
    """A recording that is cut off right behind the word loses nothing."""
    _, ended = cut(blocks((0, 1), (1, 0.5)))
    assert isinstance(ended, Ended)
    assert ended.utterance.end_s == pytest.approx(1.5, abs=BLOCK_S)


def test_flushing_silence_brings_nothing() -> None:
    """There is nothing to end where nobody spoke."""
    assert cut(blocks((0, 3))) == []


def test_the_network_finds_a_spoken_phrase() -> None:
    """A synthetic voice in silence is found once, where it is; silence itself is nothing."""
    sound = EspeakVoice().render("number four done").at(RATE).samples
    stream = np.zeros(4 * RATE, dtype=np.float32)
    stream[RATE : RATE + len(sound)] = sound
    events = cut(stream.reshape(-1, BLOCK), SileroDetector())
    assert [type(event) for event in events] == [Started, Ended]
    ended = events[-1]
    assert isinstance(ended, Ended)
    assert ended.utterance.start_s == pytest.approx(1, abs=0.3)
    assert ended.utterance.end_s == pytest.approx(1 + len(sound) / RATE, abs=0.4)


def test_a_pause_is_told_and_ends_when_it_was_allowed_to() -> None:
    """The ear may let a pause be the end sooner, or later, than usual; the same speech comes as told."""
    for allowed_s in (0.25, 0.9):
        endpointer, events = Endpointer(Scripted()), list[Event]()
        for block in blocks((0, 1), (1, 0.64), (0, 2)):
            new = endpointer.push(block)
            if any(isinstance(event, Paused) for event in new):
                endpointer.allow(allowed_s)
            events += new
        _, paused, *again, ended = events
        assert isinstance(paused, Paused)
        assert isinstance(ended, Ended)
        assert paused.utterance.end_s == ended.utterance.end_s
        more_s = (len(ended.utterance.samples) - len(paused.utterance.samples)) / RATE
        assert more_s == pytest.approx(allowed_s - Limits().glance_s, abs=2 * BLOCK_S)
        assert [type(event) for event in again] == [Paused] * (allowed_s > Limits().again_s)


def test_what_was_allowed_is_forgotten_when_speech_goes_on() -> None:
    """A pause that turned out not to be the end leaves the next pause as long as usual."""
    endpointer = Endpointer(Scripted())
    for block in blocks((1, 0.64), (0, 0.2)):
        endpointer.push(block)
    endpointer.allow(0.2)
    for block in blocks((1, 0.64)):
        assert endpointer.push(block) == []
    kinds = [type(event) for block in blocks((0, 0.4)) for event in endpointer.push(block)]
    assert kinds == [Paused, Paused]
