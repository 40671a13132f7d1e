import numpy as np
import pytest

from assistant.simulate.levels import SILENT_DB, active_level, rms_level
from assistant.sound import RATE, Samples

HALF_DB = 0.5


def tone(level: float, seconds: float) -> Samples:
    """Make a tone of 1 kHz, 16,000 samples a second."""
    return (level * np.sin(2 * np.pi * 1000 * np.arange(round(seconds * RATE)) / RATE)).astype(np.float32)


def test_a_full_scale_tone_has_an_rms_level_of_three_decibels_below_a_square_wave() -> None:
    """The RMS level is relative to a full-scale square wave, so a full-scale sine has -3.01 dB."""
    assert rms_level(tone(1.0, 1.0)) == pytest.approx(-3.0103, abs=1e-3)


@pytest.mark.parametrize("level", [1.0, 0.3, 0.05, 0.005])
def test_a_steady_tone_has_the_same_active_level_as_rms_level(level: float) -> None:
    """A tone that never pauses is always active, at any level."""
    samples = tone(level, 8.0)
    assert active_level(samples) == pytest.approx(rms_level(samples), abs=0.1)


def test_a_tone_that_sounds_half_of_the_time_has_the_level_of_the_burst() -> None:
    """Pauses do not lower the active level, which the RMS level shows 3 dB too low.

    The hangover of 0.2 s counts a little of each pause as active, hence the tolerance.
    """
    on = tone(0.3, 5.0)
    samples = np.concatenate([on, np.zeros_like(on), on, np.zeros_like(on)])
    assert active_level(samples) == pytest.approx(rms_level(on), abs=HALF_DB)
    assert rms_level(samples) == pytest.approx(rms_level(on) - 3.01, abs=0.01)


def test_twice_the_amplitude_is_six_decibels_more() -> None:
    """The active level follows a gain exactly, between the thresholds too."""
    rng = np.random.default_rng(3)
    speechlike = (rng.standard_normal(4 * RATE) * 0.05 * (np.arange(4 * RATE) % RATE < 0.6 * RATE)).astype(
        np.float32
    )
    for gain in (2.0, 1.7, 0.37):
        moved = active_level(speechlike * np.float32(gain)) - active_level(speechlike)
        assert moved == pytest.approx(20 * np.log10(gain), abs=0.1)


def test_silence_has_a_level_of_its_own_and_no_error() -> None:
    """No samples and only zeros are both reported as silent."""
    assert active_level(np.zeros(0, np.float32)) == SILENT_DB
    assert active_level(np.zeros(100, np.float32)) == SILENT_DB
    assert rms_level(np.zeros(0, np.float32)) == SILENT_DB


def test_the_level_does_not_depend_on_the_rate() -> None:
    """The same tone at 22,050 samples a second has the same active level."""
    samples = (0.3 * np.sin(2 * np.pi * 1000 * np.arange(5 * 22050) / 22050)).astype(np.float32)
    assert active_level(samples, 22050) == pytest.approx(active_level(tone(0.3, 5.0)), abs=0.05)
