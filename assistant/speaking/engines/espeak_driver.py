"""pyttsx3's driver for eSpeak NG, with the sound kept in memory.

eSpeak NG makes the sound piece by piece on a thread of its own and hands each piece to `_onSynth`.
The driver's own version of that method writes a file at an assumed rate, prints a line and plays
the file with another program; ours keeps the pieces, because nothing but our player may play.

Importing this module opens the eSpeak NG library: only `espeak.py` does so, once it has made the
wheel's library the one that is found.
"""

import ctypes
import time
from typing import Any, Final

import numpy as np
from pyttsx3.drivers import _espeak as binding
from pyttsx3.drivers.espeak import EspeakDriver

from assistant.errors import SpeakingError
from assistant.sound import Samples

_PATIENCE_S: Final = 60.0
_TAIL: Final = 1100
"""How many samples of the silence after the words are kept: 50 ms."""

_FULL_SCALE: Final = np.float32(32768)


class _NoProxy:
    """What the driver reports to: nobody, since the one caller waits for the sound."""

    def setBusy(self, busy: bool) -> None:  # noqa: FBT001, N802 - the driver's own name and order
        """Take no notice."""

    def notify(self, topic: str, **details: object) -> None:
        """Take no notice."""


class Driver(EspeakDriver):  # type: ignore[misc] # pyttsx3 has no types
    """The one driver in a process; its caller sees to it that one thing is done at a time."""

    def __init__(self) -> None:
        self._pieces: list[bytes] = []
        self._chosen = ""
        self._until_s = 0.0
        super().__init__(_NoProxy())

    def choose(self, voice: str) -> None:
        """Make a voice the current one. Raises SpeakingError where there is no such voice."""
        if voice == self._chosen:
            return
        try:
            self.setProperty("voice", voice)
        except ValueError as error:
            raise SpeakingError(
                f"eSpeak NG has no voice {voice!r}", do="name a language, as en-us"
            ) from error
        self._chosen = voice

    def render(self, words: str, *, wpm: int) -> Samples:
        """Give the sound of words in the chosen voice: shape (n,), float32, at eSpeak NG's rate."""
        self._pieces.clear()
        if words.strip():
            self.setProperty("rate", wpm)
            self._until_s = time.monotonic() + _PATIENCE_S
            self.say(words)
            self.startLoop()
        samples = np.frombuffer(b"".join(self._pieces), dtype=np.int16).astype(np.float32) / _FULL_SCALE
        return _without_tail(samples)

    def iterate(self) -> None:
        """Keep waiting for the end of the sound, but not for ever."""
        if self._looping and time.monotonic() > self._until_s:
            self.endLoop()
            raise SpeakingError(f"eSpeak NG did not finish within {_PATIENCE_S:.0f} seconds")

    def _onSynth(self, wav: Any, count: int, events: Any) -> int:  # noqa: N802 - the driver's own name
        if count > 0:
            self._pieces.append(ctypes.string_at(wav, count * 2))
        place = 0
        while events[place].type != binding.EVENT_LIST_TERMINATED:
            if events[place].type == binding.EVENT_MSG_TERMINATED:
                self.endLoop()
            place += 1
        return 0


def _without_tail(samples: Samples) -> Samples:
    """Cut the third of a second of silence that ends every sentence: hearing is shut for as long."""
    sounding = np.flatnonzero(samples)
    return samples[: sounding[-1] + 1 + _TAIL] if len(sounding) else samples[:0]
