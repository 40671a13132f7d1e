"""Push to talk: what is said between two presses of a key counts, however loud it is around.

A terminal tells that a key went down, and again and again while it is held, never that it was let go. So
a second press ends the talking; and where presses follow one another as fast as a held key repeats, it has
been let go when they stop.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from assistant.hearing.detecting import Detector
from assistant.hearing.endpointing import BLOCK_S, Utterance
from assistant.sound import Samples

REPEAT_S: Final = 0.75
"""Longer than any keyboard waits before it repeats a held key (0.25 to 0.66 s are usual; from memory)."""

LET_GO_S: Final = 0.2
"""Longer than between two repeats of a held key (30 to 100 ms are usual; from memory)."""

LONGEST_S: Final = 10.0
"""After so long the key was forgotten."""


@dataclass(kw_only=True)
class Press:
    """The state of the key. With `only`, nothing else is heard. `now` tells seconds that never go back."""

    only: bool = False
    now: Callable[[], float] = field(default=time.monotonic)
    _began: float | None = field(default=None, init=False)
    _last: float = field(default=0.0, init=False)
    _is_held: bool = field(default=False, init=False)

    def key(self) -> None:
        """Take a press of the key, or a repeat while it is held."""
        now = self.now()
        if not self.is_on:
            self._began, self._is_held = now, False
        elif now - self._last < REPEAT_S:
            self._is_held = True
        else:
            self._began = None
        self._last = now

    @property
    def is_on(self) -> bool:
        """Whether what is said now counts."""
        if self._began is None:
            return False
        now = self.now()
        let_go = self._is_held and now - self._last > LET_GO_S
        if let_go or now - self._began > LONGEST_S:
            self._began = None
        return self._began is not None


_SPEECH: Final = 0.2
"""A block this likely is speech while the key is on."""


class Pressed:
    """What is said between two presses; it begins with block number `first` of the stream."""

    def __init__(self, detector: Detector, first: int) -> None:
        self._detector = detector
        self._first = first
        self._taken: list[Samples] = []
        self._speech: list[int] = []

    def push(self, block: Samples) -> None:
        """Take the next block, shape (512,)."""
        if self._detector.probability(block) >= _SPEECH:
            self._speech.append(len(self._taken))
        self._taken.append(block)

    def utterance(self) -> Utterance:
        """Give all of it, with where the speech lies in it; all of it where none was found."""
        first, last = (self._speech[0], self._speech[-1]) if self._speech else (0, len(self._taken) - 1)
        return Utterance(
            np.concatenate(self._taken),
            (self._first + first) * BLOCK_S,
            (self._first + last + 1) * BLOCK_S,
            before_s=first * BLOCK_S,
        )
