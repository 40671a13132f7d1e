"""One piece of sound, as it passes between the rooms: mono, 32-bit float, at a stated rate."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

from assistant.errors import AssistantError

Samples = npt.NDArray[np.float32]

RATE: Final = 16_000
"""Samples a second inside the program; everything that comes in is brought to it."""


@dataclass(frozen=True, eq=False)
class Sound:
    """Mono samples of shape (n,), float32 from -1 to 1, and their rate in samples a second."""

    samples: Samples
    rate: int = RATE

    @property
    def seconds(self) -> float:
        """How long it lasts, in seconds."""
        return len(self.samples) / self.rate

    def at(self, rate: int) -> "Sound":
        """Give the same sound at another rate."""
        if rate == self.rate:
            return self
        return Sound(soxr.resample(self.samples, self.rate, rate).astype(np.float32), rate)


def silence(seconds: float, rate: int = RATE) -> Sound:
    """Give that many seconds of silence."""
    return Sound(np.zeros(round(seconds * rate), dtype=np.float32), rate)


def join(sounds: "list[Sound]", rate: int = RATE) -> Sound:
    """Put sounds end to end at one rate."""
    pieces = [sound.at(rate).samples for sound in sounds]
    return Sound(np.concatenate(pieces) if pieces else np.zeros(0, dtype=np.float32), rate)


def read_sound(path: Path) -> Sound:
    """Read a WAV or FLAC file of any rate; several channels are averaged into one.

    Raises AssistantError where there is no file or it is not sound.
    """
    if not path.is_file():
        raise AssistantError("there is no such sound file", where=str(path), do="check the path")
    try:
        samples, rate = soundfile.read(path, dtype="float32", always_2d=True)
    except soundfile.LibsndfileError as error:
        raise AssistantError(
            "this is not a sound file that can be read", where=str(path), do="give a WAV or FLAC file"
        ) from error
    return Sound(samples.mean(axis=1, dtype=np.float32), int(rate))


def write_sound(path: Path, sound: Sound) -> None:
    """Write 16-bit WAV or FLAC, by the ending of the path."""
    try:
        soundfile.write(path, sound.samples, sound.rate, subtype="PCM_16")
    except (OSError, soundfile.LibsndfileError) as error:
        raise AssistantError(f"the sound could not be written ({error})", where=str(path)) from error
