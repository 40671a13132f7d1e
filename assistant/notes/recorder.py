"""Spoken notes on disk, as FLAC; what was said so far survives the program.

While a note is being said, its sound goes as bare 16-bit samples into a `.part` file, which has
no header or table of contents that a killed program could leave unfinished. At its end it
becomes a FLAC file. A part that is left over was cut off; `recover` makes a note of it too.
No note is ever written over: where the name is taken, the new one gets a name beside it.
"""

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import chain, count
from pathlib import Path
from typing import BinaryIO, Final

import numpy as np
import numpy.typing as npt
import soundfile

from assistant.errors import AssistantError, RecordError
from assistant.sound import RATE, Samples, Sound, read_sound

_Pcm = npt.NDArray[np.int16]

_STORED: Final = np.dtype("<i2")
_FULL_SCALE: Final = 32768
_SYNC_EVERY: Final = RATE // 2
"""Samples between two flushes of the disk: what a power cut may cost, half a second. A kill costs nothing."""


@dataclass(frozen=True, kw_only=True)
class RecoveredNote:
    """A note that was cut off: its number, its file in the folder, its length."""

    note: int
    file: str
    seconds: float


class NoteRecorder:
    """Records one note at a time into a folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._file = Path()
        self._part: BinaryIO | None = None
        self._unsynced = 0

    @property
    def recording(self) -> bool:
        """Whether a note is being recorded."""
        return self._part is not None

    def begin(self, note_number: int, preroll: Samples) -> str:
        """Begin a note with what was heard just before, and give the name of its file.

        `preroll` and all blocks are samples of shape (n,), float32 from -1 to 1, 16,000 a second.
        Raises RecordError where a note is being recorded already, or the disk refuses.
        """
        if self._part is not None:
            raise RecordError("a note is being recorded already", where=self._file.name, do="end it first")
        with _explained(self._folder):
            self._folder.mkdir(parents=True, exist_ok=True)
            self._file = _free(self._folder, note_number)
            self._part = _part_of(self._file).open("xb")
        self._unsynced = 0
        try:
            self.write(preroll)
        except RecordError:
            self._give_up()
            raise
        return self._file.name

    def write(self, block: Samples) -> None:
        """Take the next block of the note; a program that is killed afterwards has kept it.

        Raises RecordError where no note was begun, or the disk is full; what was recorded stays.
        """
        part = self._open_part()
        with _explained(self._file):
            part.write(_to_pcm(block).tobytes())
            part.flush()
            self._unsynced += len(block)
            if self._unsynced >= _SYNC_EVERY:
                os.fsync(part.fileno())
                self._unsynced = 0

    def end(self, drop_last_s: float = 0.0) -> float:
        """End the note without its last seconds (the words that ended it); give its length in seconds."""
        part = self._open_part()
        self._part = None
        with _explained(self._file):
            part.close()
        return _keep(self._file, drop_last_s)

    def _give_up(self) -> None:
        """Leave nothing of a note that never began."""
        part, self._part = self._open_part(), None
        with suppress(OSError):
            part.close()
        _part_of(self._file).unlink(missing_ok=True)

    def _open_part(self) -> BinaryIO:
        if self._part is None:
            raise RecordError("no note is being recorded", do="begin one first")
        return self._part


def recover(folder: Path) -> tuple[RecoveredNote, ...]:
    """Make notes of the parts that a killed program left, and say which; while no note is being recorded."""
    return tuple(_recovered(part.with_suffix(".flac")) for part in sorted(folder.glob("note-*.part")))


def read_note(path: Path) -> Sound:
    """Read a note; RecordError where it is missing or is not sound."""
    try:
        return read_sound(path)
    except AssistantError as error:
        raise RecordError(error.what, where=error.where, do=error.do) from error


def _recovered(file: Path) -> RecoveredNote:
    number = re.match(r"note-(\d+)", file.name)
    # A program killed after the note was whole, but before its part was removed, has cut it already.
    if file.exists():
        seconds = read_note(file).seconds
        with _explained(file):
            _part_of(file).unlink()
    else:
        seconds = _keep(file, 0.0)
    return RecoveredNote(note=int(number[1]) if number else 0, file=file.name, seconds=seconds)


def _free(folder: Path, number: int) -> Path:
    """Give the file of a note: its number, and a second number where that is taken."""
    names = chain([f"note-{number:04}"], (f"note-{number:04}-{again}" for again in count(2)))
    files = (folder / f"{name}.flac" for name in names)
    return next(file for file in files if not file.exists() and not _part_of(file).exists())


def _part_of(file: Path) -> Path:
    return file.with_suffix(".part")


def _keep(file: Path, drop_last_s: float) -> float:
    """Make the FLAC of a part, and only when it is on disk remove the part."""
    part, draft = _part_of(file), file.with_suffix(".new")
    with _explained(file):
        pcm = _read_pcm(part)
        # One sample at least, because an empty FLAC file cannot be read.
        pcm = pcm[: max(1, len(pcm) - round(drop_last_s * RATE))]
        with draft.open("wb") as target:
            soundfile.write(target, pcm, RATE, format="FLAC", subtype="PCM_16")
            target.flush()
            os.fsync(target.fileno())
        draft.replace(file)
        part.unlink()
    return len(pcm) / RATE


def _to_pcm(samples: Samples) -> _Pcm:
    scaled = np.rint(samples.astype(np.float64) * _FULL_SCALE)
    return np.clip(scaled, -_FULL_SCALE, _FULL_SCALE - 1).astype(_STORED)


def _read_pcm(part: Path) -> _Pcm:
    stored = part.read_bytes()
    # A full disk can stop in the middle of a sample, or before the first.
    whole = stored[: len(stored) // 2 * 2] or bytes(2)
    return np.frombuffer(whole, dtype=_STORED).astype(np.int16)


@contextmanager
def _explained(where: Path) -> Iterator[None]:
    """Turn what the system reports into one line that says what to do."""
    try:
        yield
    except (OSError, soundfile.LibsndfileError) as error:
        what = f"the note could not be written ({error}); what was recorded of it is kept"
        raise RecordError(what, where=where.name, do="free some space or check the disk") from error
