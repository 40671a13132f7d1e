import numpy as np
import pytest

from assistant.sound import RATE, Sound
from assistant.speaking.stretch import at_pace


@pytest.mark.parametrize("pace", [0.5, 0.64, 0.8, 1.25])
def test_sound_at_a_pace_has_its_length_its_pitch_and_its_loudness(pace: float) -> None:
    """A tone played at another pace is longer or shorter by that much, as high and as loud as it was."""
    tone = np.sin(2 * np.pi * 220 * np.arange(2 * RATE) / RATE).astype(np.float32)
    made = at_pace(Sound(tone), pace)
    assert made.seconds == pytest.approx(2.0 / pace, rel=0.03)
    spectrum = np.abs(np.fft.rfft(made.samples))
    assert np.argmax(spectrum) * RATE / len(made.samples) == pytest.approx(220, abs=2)
    middle = made.samples[RATE // 4 : -RATE // 4]
    assert np.sqrt((middle**2).mean()) == pytest.approx(np.sqrt(0.5), rel=0.05)


def test_what_is_too_short_or_at_its_own_pace_is_left_as_it_is() -> None:
    """A click, and sound at pace 1, come back unchanged."""
    short, whole = Sound(np.ones(10, np.float32)), Sound(np.ones(RATE, np.float32))
    assert at_pace(short, 0.5) is short
    assert at_pace(whole, 1.0) is whole
