import numpy as np
import pytest

from assistant.simulate.levels import active_level, rms_level
from assistant.simulate.noise import NOISE_DB, babble, mix, workshop
from assistant.simulate.voices import mechanics
from assistant.sound import RATE, Sound, join, silence


def bursts() -> Sound:
    """Make two bursts of a tone with pauses."""
    tone = (0.1 * np.sin(2 * np.pi * 500 * np.arange(RATE) / RATE)).astype(np.float32)
    return join([Sound(tone), silence(1.0), Sound(tone), silence(2.0)])


def test_equal_seeds_give_equal_noise_and_others_do_not() -> None:
    """Noise can be made again from its seed."""
    assert np.array_equal(workshop(3.0, 5).samples, workshop(3.0, 5).samples)
    assert not np.array_equal(workshop(3.0, 5).samples, workshop(3.0, 6).samples)


@pytest.mark.parametrize("seconds", [0.02, 1.0, 12.5])
def test_noise_has_its_length_and_level_and_stays_within_full_scale(seconds: float) -> None:
    """However short, the noise comes at the stated RMS level."""
    noise = workshop(seconds, 1)
    assert len(noise.samples) == round(seconds * RATE)
    assert rms_level(noise.samples) == pytest.approx(NOISE_DB, abs=0.01)
    assert np.max(np.abs(noise.samples)) < 1


def test_a_long_noise_is_not_steady() -> None:
    """Passing sources come and go: some seconds are louder than others by several decibels."""
    noise = workshop(60.0, 2).samples.reshape(60, RATE)
    levels_db = [rms_level(second) for second in noise]
    assert max(levels_db) - min(levels_db) > 3


def test_background_voices_are_in_the_noise_when_given() -> None:
    """A radio in the background changes the noise and keeps its level."""
    talk = mechanics()[-1].say("delays near the bridge this morning", 1)
    with_radio = workshop(4.0, 7, [talk, talk])
    assert not np.array_equal(with_radio.samples, workshop(4.0, 7).samples)
    assert rms_level(with_radio.samples) == pytest.approx(NOISE_DB, abs=0.01)


@pytest.mark.parametrize("snr_db", [20.0, 5.0, -3.0])
def test_the_mix_has_the_stated_ratio(snr_db: float) -> None:
    """What was added is noise whose RMS level is the speech's active level less the ratio."""
    speech = bursts()
    mixed = mix(speech, workshop(speech.seconds, 4), snr_db)
    added = mixed.samples - speech.samples
    assert active_level(speech.samples) - rms_level(added) == pytest.approx(snr_db, abs=0.02)


def test_the_ratio_holds_where_both_must_be_made_quieter() -> None:
    """A sum beyond full scale is turned down as a whole: the ratio stays, nothing is clipped."""
    loud = Sound(bursts().samples * np.float32(9))
    noise = workshop(loud.seconds, 4)
    mixed = mix(loud, noise, 0.0).samples
    columns = np.stack([loud.samples, noise.samples], axis=1)
    (speech_gain, noise_gain), *_ = np.linalg.lstsq(columns.astype(np.float64), mixed, rcond=None)
    ratio_db = active_level(loud.samples * speech_gain) - rms_level(noise.samples * noise_gain)
    assert ratio_db == pytest.approx(0.0, abs=0.02)
    assert np.max(np.abs(mixed)) < 1


def test_noise_too_short_begins_again_and_the_speech_keeps_its_length() -> None:
    """One second of noise fills a longer recording."""
    assert len(mix(bursts(), workshop(1.0, 1), 10.0).samples) == len(bursts().samples)


def test_babble_is_its_voices_from_beginning_to_end() -> None:
    """However many voices, it has the level of all noise, and none where nobody speaks."""
    voice = Sound((0.1 * np.sin(np.arange(RATE) / 5)).astype(np.float32))
    made = babble(3.0, 1, [voice, voice])
    assert made.seconds == pytest.approx(3.0)
    assert rms_level(made.samples) == pytest.approx(NOISE_DB, abs=0.1)
    assert not np.any(babble(1.0, 1, []).samples)


def test_silence_and_absent_noise_are_given_back_as_they_are() -> None:
    """Without speech or noise there is no ratio to make."""
    assert not np.any(mix(silence(1.0), workshop(1.0, 1), 10.0).samples)
    assert np.array_equal(mix(bursts(), silence(1.0), 10.0).samples, bursts().samples)
    assert np.array_equal(mix(bursts(), silence(0.0), 10.0).samples, bursts().samples)
