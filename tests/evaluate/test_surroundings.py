"""Voices at a headset, at the bench and from across the shop."""

import numpy as np
import pytest

from assistant.evaluate.training.surroundings import ALL, heard_in
from assistant.simulate.levels import rms_level
from assistant.sound import RATE, Samples

VOICE = (0.1 * np.random.default_rng(1).standard_normal(RATE)).astype(np.float32)
HEADSET, BENCH, ACROSS = ALL


def echo_db(sound: Samples) -> float:
    """Give how far the tenth of a second after the voice lies below it."""
    return rms_level(sound[:RATE]) - rms_level(sound[RATE : RATE + RATE // 10])


@pytest.mark.parametrize("seed", range(5))
def test_the_farther_a_voice_is_the_more_of_the_room_is_heard_and_the_softer_it_is(seed: int) -> None:
    """The echo after the last word, and the level, tell where somebody stands."""
    near, bench, far = (heard_in(VOICE, place, seed) for place in ALL)
    assert echo_db(near) > echo_db(bench) > echo_db(far)
    assert rms_level(far) < rms_level(bench)


def test_a_headset_has_a_narrow_band() -> None:
    """Neither the lowest nor the highest tones come through."""
    power = np.square(np.abs(np.fft.rfft(heard_in(VOICE, HEADSET, 1))))
    tones_hz = np.fft.rfftfreq(2 * (len(power) - 1), 1 / RATE)
    middle = np.mean(power[(tones_hz > 500) & (tones_hz < 3000)])
    assert np.mean(power[tones_hz < 80]) < middle / 100
    assert np.mean(power[tones_hz > 7200]) < middle / 100


def test_a_seed_gives_the_same_sound_and_nothing_is_cut_off() -> None:
    """A corpus can be made again; and a strong voice stays whole."""
    assert np.array_equal(heard_in(VOICE, BENCH, 3), heard_in(VOICE, BENCH, 3))
    assert not np.array_equal(heard_in(VOICE, BENCH, 3), heard_in(VOICE, BENCH, 4))
    assert np.max(np.abs(heard_in(10 * VOICE, HEADSET, 3))) <= 1
