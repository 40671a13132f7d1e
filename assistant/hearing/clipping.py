"""Whether the sound is too strong for the microphone: what is cut off at full scale comes in broken.

Noise that is cut off and a voice that is look the same from here, so both are counted. A voice that was understood all
the same is no trouble.
"""

from collections import deque
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from assistant.hearing.endpointing import BLOCK_S
from assistant.sound import Samples

_CUT_OFF: Final = 0.98
"""Of full scale; a sample as strong as this was cut off, or nearly."""

# Speech at an active level of 0 dB has 8 to 18 % of such samples, and was understood (five phrases of one synthetic
# voice); at 10 dB it has 25 to 65 %, and two of five were not; at 20 dB speech is hardly found to be any.
_SHARE: Final = 0.2

_LOOK_BACK_S: Final = 10.0
_MOST_S: Final = 1.0
"""So much broken sound in the last ten seconds is some three commands, or a tool that runs."""
_NO_BANG: Final = 4
"""So many broken blocks in a row, 0.13 s, are no bang; by judgement."""
_MOST_REFUSED: Final = 2


@dataclass
class Clipping:
    """Follows how much of the sound is broken, block by block, and whether anything is understood all the same."""

    _broken: deque[int] = field(
        default_factory=lambda: deque(maxlen=round(_LOOK_BACK_S / BLOCK_S)), init=False
    )
    _in_a_row: int = field(default=0, init=False)
    _refused: int = field(default=0, init=False)
    _not_understood_s: float = field(default=_LOOK_BACK_S, init=False)

    @property
    def goes_on(self) -> bool:
        """Whether the sound of these seconds is broken."""
        return sum(self._broken) * BLOCK_S >= _MOST_S

    @property
    def is_bad(self) -> bool:
        """Whether it keeps from understanding."""
        is_deaf = self.goes_on and self._not_understood_s >= _LOOK_BACK_S
        return is_deaf or self._refused >= _MOST_REFUSED

    def push(self, block: Samples) -> None:
        """Take the next block of what is heard while the assistant is silent."""
        self._in_a_row = self._in_a_row + 1 if is_broken(block) else 0
        self._broken.append(_NO_BANG if self._in_a_row == _NO_BANG else int(self._in_a_row > _NO_BANG))
        self._not_understood_s += BLOCK_S

    def refused(self, speech: Samples) -> None:
        """Take speech that was not understood, samples of shape (n,)."""
        self._refused += is_broken(speech)

    def understood(self) -> None:
        """Begin anew: something was understood."""
        self._refused, self._not_understood_s = 0, 0.0


def is_broken(samples: Samples) -> bool:
    """Tell whether so much of some sound is cut off that it is broken; samples of shape (n,)."""
    return len(samples) > 0 and float(np.mean(np.abs(samples) >= _CUT_OFF)) >= _SHARE
