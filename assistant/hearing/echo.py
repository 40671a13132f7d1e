"""Takes the assistant's own voice out of what the microphone hears, so that "stop" is heard through it.

The player says what goes out, block by block; an echo canceller (WebRTC's, from the wheel livekit, extra
`duplex`) finds how it comes back through the room and takes it away. Kept because it pays through a loudspeaker.
Measured with replies and a room's echo of them at a level against the mechanic's voice, real speakers' "stop"
said into eight of them, and eight with nobody speaking, some of which hold the words "stop" and "quiet"
themselves. Found, of 8 / voice taken for a stop word, of 8:

    echo                        as it is    WebRTC, first reply    WebRTC, from the third
    headset, -30 dB             6 / 0       5 / 0                  6 / 0
    loudspeaker, -10 dB         0 / 0       2 / 0                  5 / 0
    loudspeaker, +5 dB          0 / 0       3 / 0                  2 / 0

SpeexDSP's canceller (pyaec) found none at -10 dB and gave one false stop. Listening through the voice without a
canceller, in windows of 1.4 s, took the voice itself for a stop word in 4 of 8 replies at either level.
"""

import importlib
import threading
from collections.abc import Iterator
from typing import Any, Final

import numpy as np
import soxr

from assistant.hearing.sources import Source
from assistant.sound import RATE, Samples

REMEDY: Final = "pip install 'callout[duplex]'"

_FRAME: Final = RATE // 100  # what the canceller takes at a time
_AHEAD: Final = 4 * _FRAME  # held back when the voice begins, so that both streams may come unevenly
_ROOM: Final = RATE  # how long after the voice's end echo may still come
_LONGEST: Final = 10 * RATE
_FULL_SCALE: Final = 32_767


def missing() -> str:
    """Say nothing where there is an echo canceller, else what is missing."""
    try:
        importlib.import_module("livekit.rtc")
    except (ImportError, OSError) as error:
        return str(error)
    return ""


class EchoCanceller:
    """Knows what is played, from the player's thread, and cleans what is heard, in hearing's thread.

    Raises ImportError where there is none; see `missing`.
    """

    def __init__(self) -> None:
        self._rtc: Any = importlib.import_module("livekit.rtc")
        self._module = self._rtc.AudioProcessingModule(echo_cancellation=True)
        self._played = np.zeros(0, np.float32)
        self._heard = np.zeros(0, np.float32)
        self._cleaned = np.zeros(_FRAME, np.float32)  # so that there is always enough for a block
        self._quiet = _ROOM  # samples since something was played
        self._guard = threading.Lock()

    def played(self, samples: Samples, rate: int) -> None:
        """Take what is going out now: samples of shape (n,), `rate` a second."""
        ours = samples if rate == RATE else soxr.resample(samples, rate, RATE).astype(np.float32)
        with self._guard:
            ahead = np.zeros(0 if len(self._played) else _AHEAD, np.float32)
            self._played = np.concatenate([self._played, ahead, ours])[:_LONGEST]

    def clean(self, block: Samples) -> Samples:
        """Give the next block of what was heard, of the same length and 10 ms late, without what was played."""
        self._heard = np.concatenate([self._heard, block])
        while len(self._heard) >= _FRAME:
            heard, self._heard = np.split(self._heard, [_FRAME])
            self._cleaned = np.concatenate([self._cleaned, self._frame(heard, self._next_played())])
        given, self._cleaned = np.split(self._cleaned, [len(block)])
        return given

    def _next_played(self) -> Samples:
        with self._guard:
            played, self._played = np.split(self._played, [_FRAME])
        self._quiet = 0 if len(played) else self._quiet + _FRAME
        return np.pad(played, (0, _FRAME - len(played)))

    def _frame(self, heard: Samples, played: Samples) -> Samples:
        if self._quiet >= _ROOM:
            return heard
        self._module.process_reverse_stream(self._packed(played))
        frame = self._packed(heard)
        self._module.process_stream(frame)
        return np.frombuffer(bytes(frame.data.cast("b")), np.int16).astype(np.float32) / np.float32(
            _FULL_SCALE
        )

    def _packed(self, samples: Samples) -> Any:
        pcm = (np.clip(samples, -1, 1) * _FULL_SCALE).astype(np.int16)
        return self._rtc.AudioFrame(
            data=bytearray(pcm.tobytes()), sample_rate=RATE, num_channels=1, samples_per_channel=_FRAME
        )


class EchoFree:
    """A source without the assistant's own voice."""

    def __init__(self, source: Source, canceller: EchoCanceller) -> None:
        self._source = source
        self._canceller = canceller

    def blocks(self) -> Iterator[Samples]:
        """Give the source's blocks, cleaned. Raises HearingError as the source does."""
        for block in self._source.blocks():
            yield self._canceller.clean(block)
