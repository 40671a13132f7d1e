"""A microphone that comes back."""

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing.lasting import DEAD_S, LastingSource
from assistant.hearing.sources import BLOCK, Source
from assistant.sound import RATE, Samples

NOISE, NOUGHTS = np.full(BLOCK, 0.01, np.float32), np.zeros(BLOCK, np.float32)
DEAD_BLOCKS = round(DEAD_S * RATE / BLOCK)


class StandIn:
    """A device that gives these blocks, and then goes away, or ends."""

    def __init__(self, *blocks: Samples, goes_away: bool) -> None:
        self._blocks = blocks
        self._goes_away = goes_away

    def blocks(self) -> Iterator[Samples]:
        """Give the blocks."""
        yield from self._blocks
        if self._goes_away:
            raise HearingError("the microphone went away")


class Devices:
    """What is found each time that a device is opened: a stand-in, or none."""

    def __init__(self, *found: StandIn | None) -> None:
        self._found = iter(found)
        self.opened = self.closed = 0
        self.slept_s = 0.0

    @contextmanager
    def open(self) -> Iterator[Source]:
        """Open the next one."""
        device = next(self._found)
        if device is None:
            raise HearingError("no microphone can be opened")
        self.opened += 1
        yield device
        self.closed += 1

    def sleep(self, seconds: float) -> None:
        """Let no time pass, but count it."""
        self.slept_s += seconds


def test_a_microphone_that_went_away_is_taken_up_again() -> None:
    """It is told at once, silence comes in its place, and it is opened again until it is there."""
    devices = Devices(StandIn(NOISE, NOISE, goes_away=True), None, StandIn(NOISE, goes_away=False))
    with LastingSource(devices.open, sleep=devices.sleep) as source:
        told = [(bool(block.any()), source.is_deaf) for block in source.blocks()]
    assert told[:2] == [(True, False)] * 2
    assert set(told[2:-1]) == {(False, True)}
    assert told[-1] == (True, False)
    assert (devices.opened, devices.closed) == (2, 2)
    assert devices.slept_s == pytest.approx(1.5, abs=0.1)  # twice as long after the second time


def test_bare_noughts_are_no_sound() -> None:
    """A microphone that gives nothing but noughts is deaf, and opened again; sound ends that."""
    dead = StandIn(NOISE, *[NOUGHTS] * (DEAD_BLOCKS + 5), goes_away=False)
    devices = Devices(dead, StandIn(NOUGHTS, NOISE, goes_away=False))
    with LastingSource(devices.open, sleep=devices.sleep) as source:
        told = [source.is_deaf for block in source.blocks()]
    assert told[: DEAD_BLOCKS + 1] == [False] * (DEAD_BLOCKS + 1)
    assert told[-2:] == [True, False]
    assert devices.opened == 2


def test_a_short_stretch_of_noughts_is_let_be() -> None:
    """A gap that a driver fills with noughts is not a dead microphone."""
    blocks = [NOISE, *[NOUGHTS] * (DEAD_BLOCKS - 1), NOISE]
    with LastingSource(lambda: nullcontext(StandIn(*blocks, goes_away=False))) as source:
        assert [source.is_deaf for _ in source.blocks()] == [False] * len(blocks)


def test_none_at_the_beginning_is_told_at_once() -> None:
    """A job is not begun without a microphone."""
    with pytest.raises(HearingError, match="no microphone"), LastingSource(Devices(None).open):
        pass
