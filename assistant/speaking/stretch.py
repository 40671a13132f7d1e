"""Playing sound slower without making it lower: pieces of it are laid over one another further apart.

Each piece is moved by up to a few milliseconds to where it follows best on the one before (waveform
similarity overlap-add, after Verhelst and Roelands, 1993; from memory).
"""

from typing import Final

import numpy as np

from assistant.sound import Samples, Sound

_PIECE_S: Final = 0.03
_SEARCH_S: Final = 0.008


def at_pace(sound: Sound, pace: float) -> Sound:
    """Give a sound at a pace, 1 as it is, 0.5 at half; its pitch stays."""
    half = round(_PIECE_S * sound.rate / 2)
    search = round(_SEARCH_S * sound.rate)
    if abs(pace - 1.0) < 1e-6 or len(sound.samples) < 4 * half + 2 * search:  # noqa: PLR2004
        return sound
    return Sound(_stretched(sound.samples, pace, half, search), sound.rate)


def _stretched(samples: Samples, pace: float, half: int, search: int) -> Samples:
    count = int((len(samples) / pace - 2 * half) // half)
    padded = np.concatenate(
        (np.zeros(search, np.float32), samples, np.zeros(3 * half + 2 * search, np.float32))
    )
    window = np.hanning(2 * half + 1)[:-1].astype(np.float32)
    out = np.zeros((count + 2) * half, dtype=np.float32)
    follows = 0
    for number in range(count + 1):
        start = round(number * half * pace)
        if number:
            start += _best(padded, start, follows, half, search)
        out[number * half : (number + 2) * half] += (
            padded[start + search : start + search + 2 * half] * window
        )
        follows = start + search + half
    return out


def _best(padded: Samples, start: int, follows: int, half: int, search: int) -> int:
    """Give how far to move a piece so that it is most like what would have followed the last one."""
    wanted = padded[follows : follows + half]
    around = padded[start : start + half + 2 * search]
    likeness = np.correlate(around, wanted, mode="valid")
    energy = np.convolve(around**2, np.ones(half, np.float32), mode="valid")
    return int(np.argmax(likeness / np.sqrt(energy + 1e-6))) - search
