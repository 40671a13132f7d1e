"""A voice close by, above talk that goes on around it."""

from collections.abc import Iterator

import numpy as np
import pytest

from assistant.hearing.endpointing import BLOCK_S, Ended, Endpointer, Event, Paused, Started, TooLong
from assistant.hearing.foreground import Foreground
from assistant.hearing.sources import BLOCK
from assistant.sound import RATE, Samples
from assistant.speaking.engines.espeak import EspeakVoice


def at(level_db: float, seconds: float) -> Iterator[Samples]:
    """Make even blocks of a level."""
    for _ in range(round(seconds / BLOCK_S)):
        yield np.full(BLOCK, 10 ** (level_db / 20), dtype=np.float32)


class AlwaysSpeech:
    """A detector that takes everything for speech."""

    def probability(self, _block: Samples) -> float:
        """Be sure."""
        return 0.9

    def reset(self) -> None:
        """Nothing to forget."""


class ByLevel(AlwaysSpeech):
    """A detector that takes what is loud for speech."""

    def probability(self, block: Samples) -> float:
        """Be sure of what is louder than -40 dB, and of nothing else."""
        return float(abs(block[0]) > 10 ** (-40 / 20))


def cut(*parts: Iterator[Samples]) -> list[Event]:
    """Cut what all is speech by the detector; only what begins and ends is given."""
    endpointer = Endpointer(AlwaysSpeech())
    events = [event for part in parts for block in part for event in endpointer.push(block)]
    return [event for event in events if isinstance(event, Started | Ended | TooLong)]


def ended(events: list[Event]) -> list[tuple[float, float]]:
    """Give where speech was found, in seconds."""
    return [(event.utterance.start_s, event.utterance.end_s) for event in events if isinstance(event, Ended)]


def test_a_nearer_voice_begins_and_ends_within_talk() -> None:
    """It is cut out of talk that never pauses, with half a second before it."""
    events = cut(at(-36, 3), at(-24, 0.8), at(-36, 2))
    ((start_s, end_s),) = ended(events)
    assert start_s == pytest.approx(3, abs=0.1)
    assert end_s == pytest.approx(3.8, abs=0.15)
    (found,) = [event.utterance for event in events if isinstance(event, Ended)]
    assert found.before_s == pytest.approx(0.5, abs=2 * BLOCK_S)


def test_a_nearer_voice_is_heard_also_after_long_talk() -> None:
    """Talk that was given up as too long is still talk that one can speak above, again and again."""
    events = cut(at(-36, 12), at(-24, 0.8), at(-36, 2), at(-24, 0.8), at(-36, 2))
    assert sum(isinstance(event, TooLong) for event in events) == 1
    assert [round(start_s) for start_s, _ in ended(events)] == [12, 15]


def test_what_was_said_before_is_not_in_the_next_command() -> None:
    """Two commands above talk, close together, are two: the second begins after the first has ended."""
    endpointer, found = Endpointer(AlwaysSpeech()), []
    for part in (at(-36, 3), at(-24, 0.8), at(-36, 0.35), at(-24, 0.8), at(-36, 2)):
        for block in part:
            events = endpointer.push(block)
            found += [event.utterance for event in events if isinstance(event, Ended)]
            if any(isinstance(event, Paused) for event in events):
                endpointer.allow(0.16)
    first, second = found
    assert second.start_s - second.before_s >= first.end_s


def test_talk_that_was_given_up_is_not_in_the_next_command() -> None:
    """What comes before a command is what was heard just before it, also where that was talk without end."""
    endpointer = Endpointer(ByLevel())
    events = [
        event
        for part in (at(-60, 2), at(-20, 11), at(-50, 0.5), at(-20, 0.8), at(-60, 1))
        for block in part
        for event in endpointer.push(block)
    ]
    found = [event.utterance for event in events if isinstance(event, Ended)][-1]
    lead = found.samples[: round(found.before_s * RATE)]
    assert np.allclose(lead, 10 ** (-50 / 20))


@pytest.mark.parametrize(("around_db", "seconds"), [(-29.0, 3.0), (-36.0, 1.0)])
def test_one_voice_that_gets_louder_is_not_cut(around_db: float, seconds: float) -> None:
    """Neither emphasis nor a soft beginning makes another voice of it."""
    events = cut(at(around_db, seconds), at(-24, 0.8), at(around_db, 1))
    assert ended(events) == []
    assert len(events) == 1


def test_a_blow_in_the_quiet_is_no_nearer_voice() -> None:
    """Only talk is told from a nearer voice; all else is the detector's."""
    foreground = Foreground()
    assert not any(
        foreground.push(block, is_speech=False) for part in (at(-60, 3), at(-10, 0.5)) for block in part
    )


def test_a_blow_in_talk_leaves_the_talk() -> None:
    """When it is over the next nearer voice is found as before."""
    events = cut(at(-36, 3), at(-10, 0.064), at(-36, 2), at(-24, 0.8), at(-36, 2))
    assert round(ended(events)[-1][0]) == 5


def test_a_command_over_a_radio_is_found() -> None:
    """With the real detector: a reader that never pauses, and a command 12 dB louder."""
    voice = EspeakVoice()
    reader = voice.render("the quick brown fox jumps over the lazy dog and runs along the river " * 3)
    talk = np.resize(np.trim_zeros(reader.at(RATE).samples) * 0.25, 8 * RATE)
    command = voice.render("number four done").at(RATE).samples
    talk[5 * RATE : 5 * RATE + len(command)] += command
    endpointer = Endpointer()
    blocks = talk[: len(talk) // BLOCK * BLOCK].reshape(-1, BLOCK).astype(np.float32)
    events = [event for block in blocks for event in endpointer.push(block)]
    found = [(start_s, end_s) for start_s, end_s in ended(events) if start_s > 4]
    assert found[0][0] == pytest.approx(5, abs=0.4)
    assert found[0][1] == pytest.approx(5 + len(command) / RATE, abs=0.4)
