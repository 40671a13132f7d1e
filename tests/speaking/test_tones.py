import itertools

import numpy as np
import pytest

from assistant.errors import SpeakingError
from assistant.simulate.noise import mix, workshop
from assistant.sound import RATE, Samples, Sound
from assistant.speaking.tones import NAMES, tone


def spectrogram(sound: Sound) -> Samples:
    """Give the power in 32 ms frames, 8 ms apart, of shape (frames, bins)."""
    frames = np.lib.stride_tricks.sliding_window_view(np.pad(sound.samples, 512), 512)[::128]
    return np.asarray(np.abs(np.fft.rfft(frames * np.hanning(512), axis=1)) ** 2, dtype=np.float32)


def likeness(one: Sound, other: Sound) -> float:
    """Say how alike two sounds are, at their most alike place; 1 is the same but for loudness."""
    short, long = sorted((spectrogram(one), spectrogram(other)), key=len)
    pad = np.zeros_like(short)
    long = np.concatenate([pad, long, pad])
    best = max(
        float(np.sum(short * long[place : place + len(short)])) for place in range(len(long) - len(short))
    )
    return best / float(np.linalg.norm(short) * np.linalg.norm(long))


@pytest.mark.parametrize("name", NAMES)
def test_a_tone_is_short_and_has_no_click(name: str) -> None:
    """Tones begin and end at nothing, stay within half of full scale and last under a second."""
    sound = tone(name)
    assert sound.rate == RATE
    assert 0.05 < sound.seconds < 1
    assert np.max(np.abs(sound.samples)) <= 0.5
    assert abs(sound.samples[0]) < 0.001
    assert abs(sound.samples[-1]) < 0.001


@pytest.mark.parametrize("name", NAMES)
def test_a_tone_lies_where_a_compressor_does_not(name: str) -> None:
    """Nearly all of a tone's power is between 900 Hz and 5.5 kHz, most of it between 1 and 3 kHz."""
    power = np.abs(np.fft.rfft(tone(name).samples)) ** 2
    hertz = np.fft.rfftfreq(len(tone(name).samples), 1 / RATE)
    assert power[(hertz > 900) & (hertz < 5500)].sum() > 0.99 * power.sum()
    assert power[(hertz > 900) & (hertz < 3000)].sum() > 0.9 * power.sum()


@pytest.mark.parametrize("pair", list(itertools.combinations(NAMES, 2)), ids="/".join)
def test_tones_are_told_apart_by_pitch_and_rhythm(pair: tuple[str, str]) -> None:
    """No two tones are alike in time and frequency, however loud each is."""
    assert likeness(tone(pair[0]), tone(pair[1])) < 0.5


@pytest.mark.parametrize("name", NAMES)
def test_a_tone_in_workshop_noise_is_still_that_tone(name: str) -> None:
    """At 6 dB above the noise each tone is most like itself."""
    heard = mix(tone(name), workshop(tone(name).seconds, 1), 6.0)
    assert max(NAMES, key=lambda other: likeness(heard, tone(other))) == name


def test_an_unknown_tone_is_refused_with_the_names_there_are() -> None:
    """A wrong name says what could have been asked."""
    with pytest.raises(SpeakingError, match="heard, not understood"):
        tone("fanfare")
