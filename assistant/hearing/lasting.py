"""A microphone that comes back: one that went away, or gives nothing but noughts, is opened again and again.

While it is away, silence comes in its place at the pace of sound, so that time goes on for a job:
timers end, and it can be told that nothing is heard.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack
from types import TracebackType
from typing import Final, Self

import numpy as np

from assistant.errors import HearingError
from assistant.hearing.sources import BLOCK, Source
from assistant.sound import RATE, Samples

DEAD_S: Final = 2.0
"""Bare noughts for so long are no sound: a live microphone, however quiet the room, always gives some noise."""

_FIRST_WAIT_S, _LONGEST_WAIT_S = 0.5, 8.0

Open = Callable[[], AbstractContextManager[Source]]
"""Makes a source that is opened by `with`, and raises HearingError where it cannot be."""


class LastingSource:
    """A source that is opened anew whenever it ends by a fault or goes dead; opened by `with`.

    The first time it must be there: HearingError where not. `sleep` lets seconds pass.
    """

    def __init__(self, open_source: Open, *, sleep: Callable[[float], None] = time.sleep) -> None:
        self._open = open_source
        self._sleep = sleep
        self._stack = ExitStack()
        self._source: Source | None = None
        self._wait_s = _FIRST_WAIT_S
        self.is_deaf = False

    def __enter__(self) -> Self:
        self._source = self._stack.enter_context(self._open())
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()

    def blocks(self) -> Iterator[Samples]:
        """Give the blocks until the source ends of itself; silence while it is away."""
        while True:
            try:
                yield from self._heard()
            except HearingError:
                self._lose()
            else:
                return
            yield from self._silence()

    def _heard(self) -> Iterator[Samples]:
        if self._source is None:
            self._source = self._stack.enter_context(self._open())
        dead = 0
        for block in self._source.blocks():
            dead = 0 if np.any(block) else dead + 1
            if not dead:
                self.is_deaf, self._wait_s = False, _FIRST_WAIT_S
            yield block
            if dead * BLOCK >= DEAD_S * RATE:
                raise HearingError("the microphone gives no sound", do="switch it on")

    def _lose(self) -> None:
        self.is_deaf = True
        self._source = None
        self._stack.close()

    def _silence(self) -> Iterator[Samples]:
        """Give silence, longer each time that the source was not there."""
        for _ in range(round(self._wait_s * RATE / BLOCK)):
            self._sleep(BLOCK / RATE)
            yield np.zeros(BLOCK, dtype=np.float32)
        self._wait_s = min(2 * self._wait_s, _LONGEST_WAIT_S)
