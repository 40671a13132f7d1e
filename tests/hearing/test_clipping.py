"""Sound that is too strong for the microphone."""

import numpy as np
import pytest

from assistant.hearing.clipping import Clipping
from assistant.hearing.sources import BLOCK
from assistant.sound import RATE, Samples

RNG = np.random.default_rng(1)


def noise(level_db: float, seconds: float) -> Samples:
    """Make white noise at a level, in dB relative to full scale, cut off there as a microphone does."""
    blocks = round(seconds * RATE / BLOCK)
    return np.clip(10 ** (level_db / 20) * RNG.standard_normal((blocks, BLOCK)), -1, 1).astype(np.float32)


def hear(*sounds: Samples) -> Clipping:
    """Let one hear blocks."""
    clipping = Clipping()
    for block in np.concatenate(sounds):
        clipping.push(block)
    return clipping


@pytest.mark.parametrize(
    ("level_db", "broken"), [(-60, False), (-20, False), (-6, False), (6, True), (20, True)]
)
def test_what_is_cut_off_is_broken_and_what_is_only_loud_is_not(level_db: float, broken: bool) -> None:  # noqa: FBT001
    """Loud noise below full scale is the shop's fault, above it the microphone's."""
    clipping = hear(noise(level_db, 3))
    assert (clipping.goes_on, clipping.is_bad) == (broken, broken)


def test_bangs_are_let_be() -> None:
    """A hammer for a whole minute breaks no more than its bangs."""
    clipping = hear(
        *(noise(level, seconds) for _ in range(60) for level, seconds in ((20, 0.096), (-50, 0.9)))
    )
    assert not clipping.goes_on


def test_it_goes_on_no_more_when_it_is_over() -> None:
    """Ten seconds of good sound are the end of it."""
    assert not hear(noise(20, 5), noise(-40, 11)).goes_on


def test_what_is_understood_all_the_same_is_no_trouble() -> None:
    """Whoever is understood in broken sound is not told to mend it, until nothing is understood for ten seconds."""
    clipping = hear(noise(20, 5))
    clipping.understood()
    assert clipping.goes_on
    assert not clipping.is_bad
    for block in noise(20, 11):
        clipping.push(block)
    assert clipping.is_bad


def test_broken_speech_that_is_refused_twice_is_told() -> None:
    """Two words are enough where nothing else is wrong; what is refused and whole does not count."""
    clipping = Clipping()
    for level, bad in ((-20, False), (-20, False), (20, False), (20, True)):
        clipping.refused(noise(level, 0.5).reshape(-1))
        assert clipping.is_bad == bad
    clipping.understood()
    clipping.refused(np.zeros(0, np.float32))
    assert not clipping.is_bad
