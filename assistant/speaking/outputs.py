"""Where speech goes: a loudspeaker, a file, memory, or nowhere; one small protocol for all.

An output takes blocks of 20 ms or less. A loudspeaker makes its caller wait until there is room
for the block; the others never wait, so that a whole job can be played in no time.
"""

from pathlib import Path
from typing import Any, Final, Protocol

import numpy as np
import soundfile

from assistant.errors import SpeakingError
from assistant.sound import RATE, Samples, Sound

BLOCKS_PER_SECOND: Final = 50
"""A block lasts 20 ms: short enough to stop within, long enough to be no work."""

_LATENCY_S: Final = 0.03
"""What the device may hold beside the block being written: enough for a busy machine, and little to lose."""


class Output(Protocol):
    """What the speaker plays into; used by one thread at a time.

    `rate` is in samples a second. `live` says that writing takes as long as the sound lasts;
    then what was written is heard `latency_s` seconds later.
    """

    rate: int
    live: bool
    latency_s: float

    def write(self, block: Samples) -> None:
        """Play a block of shape (n,), after those before it; a live output waits for room."""
        ...

    def drain(self) -> None:
        """Wait until everything written has been heard, and rest."""
        ...

    def drop(self) -> None:
        """Fall silent at once, and rest: what was written and not yet heard is thrown away."""
        ...

    def close(self) -> None:
        """Give the device or file back."""
        ...


class NullOutput:
    """Plays nothing, in no time."""

    live = False
    latency_s = 0.0

    def __init__(self, rate: int = RATE) -> None:
        self.rate = rate

    def write(self, block: Samples) -> None:
        """Take no notice."""

    def drain(self) -> None:
        """Have nothing to wait for."""

    def drop(self) -> None:
        """Have nothing to throw away."""

    def close(self) -> None:
        """Have nothing to give back."""


class MemoryOutput(NullOutput):
    """Keeps what was played."""

    def __init__(self, rate: int = RATE) -> None:
        super().__init__(rate)
        self._blocks: list[Samples] = []

    def write(self, block: Samples) -> None:
        """Keep the block."""
        self._blocks.append(block)

    @property
    def sound(self) -> Sound:
        """Everything played so far."""
        return Sound(np.concatenate([np.zeros(0, np.float32), *self._blocks]), self.rate)


class FileOutput(NullOutput):
    """Appends everything played to a 16-bit WAV or FLAC file, by the ending of the path.

    Raises SpeakingError where the file cannot be written.
    """

    def __init__(self, path: Path, rate: int = RATE) -> None:
        super().__init__(rate)
        self._path = path
        try:
            self._file: Any = soundfile.SoundFile(path, "w", rate, 1, subtype="PCM_16")
        except (OSError, soundfile.LibsndfileError, ValueError, TypeError) as error:
            raise self._unwritable(error) from error

    def write(self, block: Samples) -> None:
        """Append the block. Raises SpeakingError where the disk takes no more."""
        try:
            self._file.write(block)
        except (OSError, soundfile.LibsndfileError) as error:
            raise self._unwritable(error) from error

    def close(self) -> None:
        """Finish the file."""
        self._file.close()

    def _unwritable(self, error: Exception) -> SpeakingError:
        return SpeakingError(
            f"the replies cannot be written here ({error})",
            where=str(self._path),
            do="name a WAV or FLAC file in a folder with room",
        )


class Loudspeaker:
    """The machine's loudspeaker, through sounddevice, which is imported when one is opened.

    `device` is a name or number as sounddevice lists them. Raises SpeakingError, in one line with
    what to do, where PortAudio, the device or its permission is missing.
    """

    live = True

    def __init__(self, device: str | int | None = None) -> None:
        self._sounddevice = _sounddevice()
        self._fault = self._sounddevice.PortAudioError
        try:
            self.rate = self._usable_rate(device)
            self._stream = self._sounddevice.OutputStream(
                samplerate=self.rate,
                blocksize=self.rate // BLOCKS_PER_SECOND,
                device=device,
                channels=1,
                dtype="float32",
                latency=_LATENCY_S,
            )
            self.latency_s = float(self._stream.latency)
        except (self._fault, ValueError) as error:
            raise SpeakingError(
                f"no loudspeaker can be opened ({error})",
                do="connect one and see `callout ready`, or use --speak text",
            ) from error

    def write(self, block: Samples) -> None:
        """Play a block; waits until there is room. Raises SpeakingError where the device has gone."""
        try:
            if self._stream.stopped:
                self._stream.start()
            self._stream.write(np.ascontiguousarray(block.reshape(-1, 1)))
        except self._fault as error:
            raise SpeakingError(f"the loudspeaker has gone ({error})", do="connect it again") from error

    def drain(self) -> None:
        """Let the device play out what it holds, and rest."""
        if not self._stream.stopped:
            self._stream.stop()

    def drop(self) -> None:
        """Silence the device at once, without playing out what it holds."""
        if not self._stream.stopped:
            self._stream.abort()

    def close(self) -> None:
        """Give the device back."""
        self._stream.close()

    def _usable_rate(self, device: str | int | None) -> int:
        try:
            self._sounddevice.check_output_settings(
                device=device, channels=1, dtype="float32", samplerate=RATE
            )
        except self._fault:
            return int(self._sounddevice.query_devices(device, "output")["default_samplerate"])
        return RATE


def _sounddevice() -> Any:
    try:
        import sounddevice  # noqa: PLC0415 - a device library, imported only when a device is used
    except (ImportError, OSError) as error:
        raise SpeakingError(
            f"sound cannot be played here ({error})",
            do="install PortAudio (on Debian: apt install libportaudio2), or use --speak text or a file",
        ) from error
    return sounddevice
