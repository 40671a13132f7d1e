"""What sounds the encoder of whisper-shop hears at every 20 ms: a small head on it, trained with the delta.

A convolution over five frames, and from there the classes of `phone_net`. It was trained to give the sounds of what
is said whatever may be said (connectionist temporal classification), so it knows nothing of the grammar; which
sentence of a grammar explains the sounds is found by `hearing.trellis`.
"""

import math
from pathlib import Path
from typing import Any, Final
from zipfile import BadZipFile

import numpy as np
import numpy.typing as npt

from assistant.errors import HearingError
from assistant.hearing.weights import verified

Floats = npt.NDArray[np.floating[Any]]

SOUNDS: Final = "sounds/"
"""How the names of the head's arrays begin."""
FRAMES_A_SECOND: Final = 50

_DAMAGED: Final = "the head of this program is damaged"
_REMEDY: Final = "install callout again"
_GELU: Final = (math.sqrt(2 / math.pi), 0.044715)  # Hendrycks and Gimpel 2016, the approximation; from memory


class PhoneHead:
    """The head, from a file of its arrays: conv/weight (hidden, width, span), out/weight (classes, hidden), biases.

    `checksum` is the file's SHA-256. Raises HearingError where the file is not the one that is meant, or is no head.
    """

    def __init__(self, path: Path, checksum: str) -> None:
        try:
            verified(path, checksum, _DAMAGED, _REMEDY)
            with path.open("rb") as file, np.load(file) as arrays:
                conv, self._conv_bias, out, self._out_bias = (
                    arrays[f"{SOUNDS}{name}"].astype(np.float32)
                    for name in ("conv/weight", "conv/bias", "out/weight", "out/bias")
                )
        except (OSError, EOFError, KeyError, ValueError, BadZipFile) as error:
            raise HearingError(_DAMAGED, where=str(path), do=_REMEDY) from error
        self._taps = np.ascontiguousarray(conv.transpose(2, 1, 0))
        self._out = np.ascontiguousarray(out.T)

    def logs(self, encoded: Floats) -> Floats:
        """Give the log probabilities (frames, classes) of an encoder's output (frames, width)."""
        span, frames = len(self._taps), len(encoded)
        padded = np.pad(encoded, ((span // 2, span // 2), (0, 0)))
        hidden = self._conv_bias + sum(padded[tap : tap + frames] @ self._taps[tap] for tap in range(span))
        scores = _gelu(hidden) @ self._out + self._out_bias
        scores -= scores.max(axis=1, keepdims=True)
        return np.asarray(scores - np.log(np.exp(scores).sum(axis=1, keepdims=True)))


def _gelu(hidden: Floats) -> Floats:
    scale, cube = _GELU
    return np.asarray(0.5 * hidden * (1 + np.tanh(scale * (hidden + cube * hidden * hidden * hidden))))
