"""Sound that is too strong for the microphone."""

import numpy as np
import pytest

from assistant.hearing.clipping import Clipping, is_broken
from assistant.hearing.sources import BLOCK
from assistant.simulate.voices import SPEECH_DB, mechanics
from assistant.sound import RATE, Samples

RNG = np.random.default_rng(1)


def noise(level_db: float, seconds: float) -> Samples:
    """Make white noise at a level, in dB relative to full scale, cut off there as a microphone does."""
    blocks = round(seconds * RATE / BLOCK)
    return np.clip(10 ** (level_db / 20) * RNG.standard_normal((blocks, BLOCK)), -1, 1).astype(np.float32)


def hear(*sounds: Samples) -> Clipping:
    """Let one hear blocks."""
    clipping = Clipping()
    push(clipping, *sounds)
    return clipping


def push(clipping: Clipping, *sounds: Samples) -> None:
    """Let it hear more blocks."""
    for block in np.concatenate(sounds):
        clipping.push(block)


@pytest.mark.parametrize(
    ("level_db", "broken"), [(-60, False), (-20, False), (-6, False), (6, True), (20, True)]
)
def test_what_is_cut_off_is_broken_and_what_is_only_loud_is_not(level_db: float, broken: bool) -> None:  # noqa: FBT001
    """Loud noise below full scale is the shop's fault, above it the microphone's."""
    clipping = hear(noise(level_db, 6))
    assert (clipping.goes_on, clipping.is_bad) == (broken, broken)


def short(level_db: float) -> Samples:
    """Make half a second of noise, as one stretch of samples."""
    return noise(level_db, 0.5).reshape(-1)


def test_an_impact_wrench_is_let_be_unless_somebody_speaks_into_it() -> None:
    """Two bursts of a second are no trouble by themselves; with one word that came in broken they are."""
    clipping = hear(noise(-40, 11), noise(20, 1), noise(-40, 2), noise(20, 1))
    assert clipping.goes_on
    assert not clipping.is_most
    assert not clipping.is_bad
    clipping.refused(short(-10))
    assert not clipping.is_bad
    clipping.refused(short(20))
    assert clipping.is_bad
    push(clipping, noise(-40, 11))
    assert not clipping.is_bad


def test_bangs_are_let_be() -> None:
    """A hammer for a whole minute breaks no more than its bangs."""
    clipping = hear(
        *(noise(level, seconds) for _ in range(60) for level, seconds in ((20, 0.096), (-50, 0.9)))
    )
    assert not clipping.goes_on


def test_bangs_that_are_taken_for_speech_are_let_be() -> None:
    """A wrench that is dropped twice was refused as broken, and was nobody's word."""
    clipping = Clipping()
    bang = np.concatenate([noise(20, 0.096), noise(-50, 0.15)]).reshape(-1)
    assert is_broken(bang)
    for _ in range(3):
        clipping.refused(bang)
    assert not clipping.is_bad


def test_it_goes_on_no_more_when_it_is_over() -> None:
    """Ten seconds of good sound are the end of it."""
    assert not hear(noise(20, 5), noise(-40, 11)).goes_on


def test_what_is_understood_all_the_same_is_no_trouble() -> None:
    """Whoever is understood in broken sound is not told to mend it, until nothing is understood for ten seconds."""
    clipping = hear(noise(20, 6))
    clipping.understood()
    assert clipping.goes_on
    assert not clipping.is_bad
    push(clipping, noise(20, 11))
    assert clipping.is_bad


def test_broken_speech_that_is_refused_twice_is_told() -> None:
    """Two words are enough where nothing else is wrong; what is refused and whole does not count."""
    clipping = Clipping()
    for level, bad in ((-20, False), (-20, False), (20, False), (20, True)):
        clipping.refused(short(level))
        assert clipping.is_bad == bad
    clipping.understood()
    clipping.refused(np.zeros(0, np.float32))
    assert not clipping.is_bad


def test_words_that_are_far_apart_do_not_count_together() -> None:
    """One broken word now and one in more than a minute are chance; a third soon after it is not."""
    clipping = Clipping()
    for pause_s, bad in ((0, False), (65, False), (30, True)):
        push(clipping, noise(-50, pause_s + 0.1))
        clipping.refused(short(20))
        assert clipping.is_bad == bad
    push(clipping, noise(-50, 65))
    assert not clipping.is_bad


def test_a_voice_that_is_too_strong_is_no_bang() -> None:
    """Short words of a synthetic voice, at an active level of 10 dB."""
    clipping = Clipping()
    for words in ("yes", "next"):
        voice = mechanics()[0].say(words, 1).samples * 10 ** ((10 - SPEECH_DB) / 20)
        loud = np.flatnonzero(np.abs(voice) > 0.1)
        clipping.refused(np.clip(voice[loud[0] : loud[-1]], -1, 1).astype(np.float32))
    assert clipping.is_bad
