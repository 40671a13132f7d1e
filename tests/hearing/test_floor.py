"""How loud it is around."""

import numpy as np
import pytest

from assistant.hearing.floor import NoiseFloor
from assistant.hearing.sources import BLOCK
from assistant.sound import RATE, Samples

RNG = np.random.default_rng(1)


def noise(level_db: float, seconds: float) -> Samples:
    """Make white noise at a level, in dB relative to full scale."""
    blocks = round(seconds * RATE / BLOCK)
    return (10 ** (level_db / 20) * RNG.standard_normal((blocks, BLOCK))).astype(np.float32)


def hear(floor: NoiseFloor, blocks: Samples) -> None:
    """Let it hear blocks."""
    for block in blocks:
        floor.push(block)


def test_the_floor_is_the_noise_and_not_the_speech_in_it() -> None:
    """Loud stretches that leave pauses do not raise the floor."""
    floor = NoiseFloor()
    for _ in range(6):
        hear(floor, noise(-50, 1.0))
        hear(floor, noise(-20, 1.0))
    assert floor.floor_db == pytest.approx(-50, abs=1)
    assert not floor.is_hopeless


def test_noise_as_loud_as_the_mechanic_is_hopeless_until_it_is_clearly_quieter() -> None:
    """A grinder makes it hopeless; a little less of it does not make it good."""
    floor = NoiseFloor()
    hear(floor, noise(-20, 12))
    assert floor.is_hopeless
    hear(floor, noise(-26, 12))
    assert floor.is_hopeless
    hear(floor, noise(-40, 12))
    assert not floor.is_hopeless


def test_a_short_bang_is_not_hopeless() -> None:
    """Impacts pass."""
    floor = NoiseFloor()
    hear(floor, noise(-50, 10))
    hear(floor, noise(-5, 1))
    assert not floor.is_hopeless


def swelling(level_db: float, swing_db: float, seconds: float) -> Samples:
    """Make noise that swells and fades three times a second, `swing_db` either way."""
    blocks = noise(level_db, seconds)
    swing = swing_db * np.sin(2 * np.pi * 3 * np.arange(len(blocks)) * BLOCK / RATE)
    return (blocks * 10 ** (swing[:, None] / 20)).astype(np.float32)


def test_music_as_loud_as_the_mechanic_is_hopeless_though_it_has_soft_places() -> None:
    """It swells and fades and never pauses: most of it drowns the voice."""
    floor = NoiseFloor()
    hear(floor, swelling(-21, 5, 15))
    assert floor.floor_db < floor.speech_db
    assert floor.is_hopeless
    softer = NoiseFloor()
    hear(softer, swelling(-28, 5, 15))
    assert not softer.is_hopeless


def test_a_bench_that_talks_is_not_hopeless_however_loud() -> None:
    """Talk has pauses, in which the mechanic may speak; here it is ten decibels louder, a third of it pauses."""
    floor = NoiseFloor()
    for _ in range(10):
        hear(floor, swelling(-16, 5, 1.0))
        hear(floor, noise(-50, 0.5))
        assert not floor.is_hopeless


def test_the_mechanics_loudness_is_learned_above_the_noise() -> None:
    """Somebody who speaks softly is lost in less noise."""
    floor = NoiseFloor()
    hear(floor, noise(-60, 10))
    for _ in range(20):
        floor.understood(noise(-40, 1).reshape(-1))
    assert floor.speech_db == pytest.approx(-40, abs=1)
    hear(floor, noise(-38, 12))
    assert floor.is_hopeless


def test_silence_and_nothing_do_no_harm() -> None:
    """Noughts have no level, and a command without a block teaches nothing."""
    floor = NoiseFloor()
    hear(floor, np.zeros((400, BLOCK), np.float32))
    floor.understood(np.zeros(10, np.float32))
    assert not floor.is_hopeless
