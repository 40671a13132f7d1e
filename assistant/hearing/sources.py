"""Where sound comes from: a microphone, a file, or another thread.

Every source gives blocks of the same length and rate, so that what follows cannot tell them apart.
"""

import importlib
import queue
import time
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType, TracebackType
from typing import Any, Final, Protocol, Self

import numpy as np
import soundfile
import soxr

from assistant.errors import HearingError
from assistant.sound import RATE, Samples

BLOCK: Final = 512
"""Samples in a block: what voice-activity detection takes at a time, 32 ms."""

_READ_FRAMES: Final = 8_192
_STALLED_S: Final = 2.0  # many times what any device lets pass between two pieces
_PORTAUDIO: Final = (
    "install PortAudio (Debian: apt install libportaudio2), or hear a file or typed text instead"
)


class Source(Protocol):
    """Gives sound block by block: samples of shape (512,), float32, 16,000 a second."""

    def blocks(self) -> Iterator[Samples]:
        """Give the blocks until the sound ends. Raises HearingError where it cannot go on."""
        ...


class FileSource:
    """A WAV or FLAC recording of any rate, streamed; several channels are averaged.

    With `in_real_time`, blocks come no faster than they would from a microphone.
    Raises HearingError where there is no file or it is not sound.
    """

    def __init__(self, path: Path, *, in_real_time: bool = False) -> None:
        if not path.is_file():
            raise HearingError("there is no such sound file", where=str(path), do="check the path")
        self._path = path
        self._in_real_time = in_real_time
        with self._opened():
            pass  # a broken file is told before anything else begins

    @property
    def seconds(self) -> float:
        """How long it is, in seconds."""
        with self._opened() as file:
            return float(file.frames / file.samplerate)

    def blocks(self) -> Iterator[Samples]:
        """Give the blocks; the last is filled up with silence. Raises HearingError where the file breaks off."""
        started = time.monotonic()
        for number, block in enumerate(self._blocks(), start=1):
            if self._in_real_time:
                time.sleep(max(0.0, started + number * BLOCK / RATE - time.monotonic()))
            yield block

    def _blocks(self) -> Iterator[Samples]:
        cutter = _Cutter()
        with self._opened() as file:
            resampler = _Resampler(file.samplerate)
            for piece in self._pieces(file):
                yield from cutter.cut(resampler.push(piece))
            yield from cutter.cut(resampler.end())
        yield from cutter.rest()

    def _pieces(self, file: Any) -> Iterator[Samples]:
        try:
            for piece in file.blocks(_READ_FRAMES, dtype="float32", always_2d=True):
                yield piece.mean(axis=1, dtype=np.float32)
        except soundfile.SoundFileError as error:
            raise HearingError(
                "the sound file breaks off", where=str(self._path), do="copy it again"
            ) from error

    def _opened(self) -> Any:
        try:
            return soundfile.SoundFile(self._path)
        except soundfile.SoundFileError as error:
            raise HearingError(
                "this is not a sound file that can be read",
                where=str(self._path),
                do="give a WAV or FLAC file",
            ) from error


class QueueSource:
    """Sound that another thread pushes, in pieces of any length; for simulated mechanics and tests."""

    def __init__(self) -> None:
        self._pieces: queue.SimpleQueue[Samples | None] = queue.SimpleQueue()

    def push(self, samples: Samples) -> None:
        """Add samples of shape (n,), float32, 16,000 a second."""
        self._pieces.put(samples)

    def close(self) -> None:
        """Say that no more will come."""
        self._pieces.put(None)

    def blocks(self) -> Iterator[Samples]:
        """Give the blocks as they come, until closed; the last is filled up with silence."""
        cutter = _Cutter()
        while (piece := self._pieces.get()) is not None:
            yield from cutter.cut(piece)
        yield from cutter.rest()


class MicrophoneSource:
    """The microphone, opened by `with`. The device library is imported only then.

    `device` is a name or number of the audio system; by default the one that is set there.
    Raises HearingError where there is no PortAudio or no microphone.
    """

    def __init__(self, device: str | int | None = None) -> None:
        self._device = device
        self._pieces: queue.SimpleQueue[Samples | None] = queue.SimpleQueue()
        self._stream: Any = None
        self._rate = RATE

    def __enter__(self) -> Self:
        library = _device_library()
        try:
            self._rate = _rate_of(library, self._device)
            self._stream = library.InputStream(
                samplerate=self._rate,
                channels=1,
                dtype="float32",
                device=self._device,
                callback=self._take,
                finished_callback=lambda: self._pieces.put(None),
            )
            self._stream.start()
        except (library.PortAudioError, ValueError) as error:
            raise HearingError(
                f"no microphone can be opened ({_first_line(error)})",
                do="plug one in, or hear a file or typed text instead",
            ) from error
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        stream, self._stream = self._stream, None
        if stream is not None:
            stream.close()

    def blocks(self) -> Iterator[Samples]:
        """Give the blocks until closed. Raises HearingError where the microphone goes away meanwhile."""
        cutter, resampler = _Cutter(), _Resampler(self._rate)
        while (piece := self._next()) is not None:
            yield from cutter.cut(resampler.push(piece))
        if self._stream is not None:
            raise HearingError("the microphone went away", do="plug it in again and take the job up again")

    def _next(self) -> Samples | None:
        try:
            return self._pieces.get(timeout=_STALLED_S)
        except queue.Empty as error:  # some systems do not tell that a device was unplugged
            raise HearingError("the microphone has stopped", do="plug it in again") from error

    def _take(self, indata: Any, _frames: int, _time: Any, _status: Any) -> None:
        self._pieces.put(indata[:, 0].copy())


class _Cutter:
    """Cuts pieces of any length into blocks."""

    def __init__(self) -> None:
        self._left: Samples = np.zeros(0, dtype=np.float32)

    def cut(self, piece: Samples) -> Iterator[Samples]:
        """Give the whole blocks there are, and keep the rest for the next piece."""
        sound = np.concatenate([self._left, piece])
        whole = len(sound) // BLOCK * BLOCK
        self._left = sound[whole:]
        yield from sound[:whole].reshape(-1, BLOCK)

    def rest(self) -> Iterator[Samples]:
        """Give what is left, filled up with silence."""
        if len(self._left):
            yield np.pad(self._left, (0, BLOCK - len(self._left)))


class _Resampler:
    """Brings a stream of one rate to ours."""

    def __init__(self, rate: int) -> None:
        self._stream = None if rate == RATE else soxr.ResampleStream(rate, RATE, 1, dtype="float32")

    def push(self, piece: Samples, *, last: bool = False) -> Samples:
        """Give what can be given of the stream so far."""
        if self._stream is None:
            return piece
        resampled: Samples = self._stream.resample_chunk(piece, last=last)
        return resampled

    def end(self) -> Samples:
        """Give what was still held back."""
        return self.push(np.zeros(0, dtype=np.float32), last=True)


def _device_library() -> ModuleType:
    try:
        return importlib.import_module("sounddevice")
    except (ImportError, OSError) as error:
        raise HearingError(
            f"the audio system cannot be used ({_first_line(error)})", do=_PORTAUDIO
        ) from error


def _rate_of(library: Any, device: str | int | None) -> int:
    """Give our rate where the device takes it, else its own."""
    try:
        library.check_input_settings(device=device, channels=1, dtype="float32", samplerate=RATE)
    except library.PortAudioError:
        return int(library.query_devices(device, "input")["default_samplerate"])
    return RATE


def _first_line(error: Exception) -> str:
    return str(error).splitlines()[0] if str(error) else type(error).__name__
