"""Taking a spoken note: with the half second before it, and ended by a long silence where no words end it."""

from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import Final

import numpy as np

from assistant.hearing.detecting import Detector, SileroDetector
from assistant.notes.recorder import NoteRecorder
from assistant.sound import RATE, Samples

PREROLL_S: Final = 0.5
"""How much of what was heard before a note begins goes into it."""

SILENCE_S: Final = 5.0
"""How long nothing must be said for a note to be over; who thinks aloud pauses for less."""

KEPT_SILENCE_S: Final = 0.5
"""How much of that silence stays at its end."""

_SPEECH: Final = 0.5
"""A block at least this likely is speech, as when utterances are cut out."""


class NoteTaking:
    """Holds what was heard lately, and records the note that is being spoken."""

    def __init__(self, folder: Path, detector: Callable[[], Detector] = SileroDetector) -> None:
        self._recorder = NoteRecorder(folder)
        self._make_detector = detector
        self._detector: Detector | None = None
        self._lately: deque[Samples] = deque()
        self._taken = 0
        self._quiet = 0

    @property
    def recording(self) -> bool:
        """Whether a note is being recorded."""
        return self._recorder.recording

    @property
    def seconds(self) -> float:
        """How long the note is so far without its silent end, in seconds."""
        silent = max(0.0, self._quiet / RATE - KEPT_SILENCE_S)
        return max(0.0, self._taken / RATE - silent)

    def begin(self, number: int) -> str:
        """Begin a note with what was heard just before; give the name of its file. Raises RecordError."""
        blocks, self._lately = tuple(self._lately), deque()
        before = np.concatenate((np.zeros(0, np.float32), *blocks))
        self._taken, self._quiet = len(before), 0
        # Made at the first note, since its weights take a moment to load.
        self._detector = self._detector or self._make_detector()
        self._detector.reset()
        return self._recorder.begin(number, before)

    def take(self, block: Samples) -> bool:
        """Take the next block of what is heard; True where the note is over, because of the silence."""
        if not self.recording or self._detector is None:
            self._remember(block)
            return False
        self._recorder.write(block)
        self._taken += len(block)
        spoken = self._detector.probability(block) >= _SPEECH
        self._quiet = 0 if spoken else self._quiet + len(block)
        return self._quiet >= SILENCE_S * RATE

    def _remember(self, block: Samples) -> None:
        self._lately.append(block)
        while sum(map(len, self._lately)) > PREROLL_S * RATE:
            self._lately.popleft()

    def end(self, drop_last_s: float) -> None:
        """End the note without its last seconds. Raises RecordError where it cannot be written."""
        if self.recording:
            self._recorder.end(drop_last_s)

    def end_silent(self) -> None:
        """End the note without its silent end."""
        self.end(max(0.0, self._quiet / RATE - KEPT_SILENCE_S))
