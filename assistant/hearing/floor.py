"""How loud it is around, and whether the mechanic can still be heard above it.

The floor is what a fifth of the last ten seconds stays below: speech has pauses, a grinder has none. What has no pauses
is noise, and of music most is far above the floor. The mechanic's loudness is learned from what was understood.
"""

from collections import deque
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from assistant.hearing.sources import BLOCK
from assistant.sound import RATE, Samples

_LOOK_BACK_S: Final = 10.0
_FLOOR_SHARE: Final = 20.0  # per cent of the blocks
_LOUD_SHARE: Final = 90.0
_QUIETEST_DB: Final = -96.0
_BLOCKS: Final = round(_LOOK_BACK_S * RATE / BLOCK)
_FEWEST: Final = _BLOCKS // 2
_NEW: Final = 0.3  # how much the newest command counts in the mechanic's loudness

# Loudness of the loudest tenth of speech whose active level is -26 dB, as recordings are levelled; by judgement,
# it stands until the first command was understood.
_USUAL_DB: Final = -22.0

# What has no pauses: its loudest tenth is no further than this above its floor. Over ten seconds of the development set
# music (two pieces) has 5 to 14 dB, babble 10 to 13, a crowd 3, rain 2, seven of eight chainsaws 2 to 13; talk (seven
# meetings, five readings) has 15 to 43, and once 13. Twelve commands in music at 0 / -5 dB: 8 / 2 and 2 / 0 are
# understood. Told at -5 dB are both pieces; no meeting is, 15 dB louder than the mechanic too.
_PAUSELESS_DB: Final = 12.0
_PAUSELESS_SHARE: Final = 60.0  # near its mean power, and no bang of a second counts

# By the loudest tenth of speech, which is about 4 dB above its active level: hopeless at -4 dB by active level,
# where fewer than half of the commands are understood; good again from 4 dB.
_HOPELESS_DB: Final = 0.0
_GOOD_DB: Final = 8.0


@dataclass
class NoiseFloor:
    """Follows the noise, block by block. Levels are in dB relative to full scale."""

    speech_db: float = _USUAL_DB
    floor_db: float = _QUIETEST_DB
    is_hopeless: bool = False
    is_pauseless: bool = False
    _levels: deque[float] = field(default_factory=lambda: deque(maxlen=_BLOCKS), init=False)

    def push(self, block: Samples) -> None:
        """Take the next block of what is heard while the assistant is silent."""
        self._levels.append(level(block))
        if len(self._levels) < _FEWEST:
            return
        shares = (_FLOOR_SHARE, _PAUSELESS_SHARE, _LOUD_SHARE)
        self.floor_db, most_db, loud_db = map(float, np.percentile(self._levels, shares))
        self.is_pauseless = loud_db - self.floor_db <= _PAUSELESS_DB
        above_db = self.speech_db - (most_db if self.is_pauseless else self.floor_db)
        self.is_hopeless = above_db < (_GOOD_DB if self.is_hopeless else _HOPELESS_DB)

    def understood(self, samples: Samples) -> None:
        """Learn the mechanic's loudness from a command that was understood, samples of shape (n,)."""
        if len(samples) < BLOCK:
            return
        loud = 10 ** (loudness(samples) / 10)
        alone = max(loud - 10 ** (self.floor_db / 10), loud / 10)
        self.speech_db += _NEW * (10 * float(np.log10(alone)) - self.speech_db)


def loudness(samples: Samples) -> float:
    """Give the level of the loudest tenth of speech, in dB relative to full scale; samples of shape (n,).

    Of less than a block (32 ms) it is that of silence.
    """
    blocks = samples[: len(samples) // BLOCK * BLOCK].reshape(-1, BLOCK)
    levels = [level(block) for block in blocks] or [_QUIETEST_DB]
    return float(np.percentile(levels, _LOUD_SHARE))


def level(block: Samples) -> float:
    """Give the level of a block, in dB relative to full scale; that of silence where there is less."""
    power = float(np.mean(np.square(block, dtype=np.float64)))
    return max(_QUIETEST_DB, 10 * float(np.log10(power))) if power > 0 else _QUIETEST_DB
