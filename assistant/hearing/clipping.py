"""Whether the sound is too strong for the microphone: what is cut off at full scale comes in broken.

Noise that is cut off and a voice that is look the same from here, so both are counted. A voice that was understood all
the same is no trouble.
"""

from collections import deque
from dataclasses import dataclass, field
from itertools import groupby
from typing import Final

import numpy as np

from assistant.hearing.endpointing import BLOCK_S
from assistant.hearing.sources import BLOCK
from assistant.sound import Samples

_CUT_OFF: Final = 0.98
"""Of full scale; a sample as strong as this was cut off, or nearly."""

# Speech at an active level of 0 dB has 8 to 18 % of such samples, and was understood (five phrases of one synthetic
# voice); at 10 dB it has 25 to 65 %, and two of five were not; at 20 dB speech is hardly found to be any.
_SHARE: Final = 0.2

_LOOK_BACK_S: Final = 10.0
_MOST_S: Final = 1.0
"""So much broken sound in the last ten seconds is some three commands, or an impact wrench that is let be."""
_LASTING_S: Final = 5.0
"""So much is a tool that runs and drowns everything, whether anything was said or not; by judgement."""
_NO_BANG: Final = 4
"""So many broken blocks in a row, 0.13 s, are no bang; by judgement."""
_MOST_REFUSED: Final = 2
_TOGETHER_S: Final = 60.0
"""What was refused counts together only within this time."""


@dataclass
class Clipping:
    """Follows how much of the sound is broken, block by block, and whether anything is understood all the same."""

    _broken: deque[int] = field(
        default_factory=lambda: deque(maxlen=round(_LOOK_BACK_S / BLOCK_S)), init=False
    )
    _in_a_row: int = field(default=0, init=False)
    _refused_s: list[float] = field(default_factory=list, init=False)
    _understood_s: float = field(default=-_LOOK_BACK_S, init=False)
    _now_s: float = field(default=0.0, init=False)

    @property
    def goes_on(self) -> bool:
        """Whether the sound of these seconds is broken."""
        return self._broken_s >= _MOST_S

    @property
    def is_most(self) -> bool:
        """Whether most of the sound of these seconds is broken, or of what there was of it."""
        return 0 < len(self._broken) <= 2 * sum(self._broken)

    @property
    def is_bad(self) -> bool:
        """Whether it keeps from understanding what is said, or would keep from it for long."""
        is_deaf = self._broken_s >= _LASTING_S or (self.goes_on and self._refused_in(_LOOK_BACK_S) > 0)
        is_long = self._now_s - self._understood_s >= _LOOK_BACK_S
        return (is_deaf and is_long) or self._refused_in(_TOGETHER_S) >= _MOST_REFUSED

    def push(self, block: Samples) -> None:
        """Take the next block of what is heard while the assistant is silent."""
        self._in_a_row = self._in_a_row + 1 if is_broken(block) else 0
        self._broken.append(_NO_BANG if self._in_a_row == _NO_BANG else int(self._in_a_row > _NO_BANG))
        self._now_s += BLOCK_S

    def refused(self, speech: Samples) -> None:
        """Take speech that was not understood, samples of shape (n,)."""
        if is_broken(speech) and _is_no_bang(speech):
            self._refused_s = [*self._refused_s[1 - _MOST_REFUSED :], self._now_s]

    def understood(self) -> None:
        """Begin anew: something was understood."""
        self._refused_s, self._understood_s = [], self._now_s

    @property
    def _broken_s(self) -> float:
        return sum(self._broken) * BLOCK_S

    def _refused_in(self, seconds: float) -> int:
        return sum(self._now_s - at <= seconds for at in self._refused_s)


def is_broken(samples: Samples) -> bool:
    """Tell whether so much of some sound is cut off that it is broken; samples of shape (n,)."""
    return len(samples) > 0 and float(np.mean(np.abs(samples) >= _CUT_OFF)) >= _SHARE


def _is_no_bang(samples: Samples) -> bool:
    blocks = samples[: len(samples) // BLOCK * BLOCK].reshape(-1, BLOCK)
    return max((len([*row]) for broken, row in groupby(blocks, is_broken) if broken), default=0) >= _NO_BANG
