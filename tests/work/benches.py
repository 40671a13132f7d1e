"""A job that has begun, and what hearing may bring it."""

from dataclasses import dataclass, field

import numpy as np

from assistant.dialogue.intents import Intent
from assistant.hearing.endpointing import Utterance
from assistant.hearing.recogniser import Recognised
from assistant.hearing.sources import BLOCK
from assistant.job.events import Replied
from assistant.job.folder import JobFolder
from assistant.sound import RATE
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor

QUIET = np.full(BLOCK, 1e-4, np.float32)
NAME = "generator-set-head"


@dataclass
class Bench:
    """A job that has begun, with what was kept of it."""

    conductor: Conductor
    folder: JobFolder
    clock: MovedClock
    seen: int = field(default=0)

    def new(self) -> list[object]:
        """Give the events since the last look."""
        events = [entry.event for entry in self.folder.journal.entries()]
        fresh, self.seen = events[self.seen :], len(events)
        return list(fresh)

    def said(self) -> list[str]:
        """Give what was said since the last look."""
        return [event.words for event in self.new() if isinstance(event, Replied)]


def refused(*, asked: bool) -> Recognised:
    """Make an utterance that was not accepted."""
    return Recognised(
        heard=("done",),
        intents=(Intent(name="not-understood"),),
        accepted=False,
        asked=asked,
        confidence=0.3,
        engine="whisper",
        start_s=0,
        end_s=1,
        utterance=Utterance(np.zeros(RATE, np.float32), 0, 1),
    )


def accepted(start_s: float, level: float = 0.05) -> Recognised:
    """Make a command of a second that was understood."""
    return Recognised(
        heard=("repeat",),
        intents=(Intent(name="repeat"),),
        accepted=True,
        confidence=1,
        engine="whisper",
        start_s=start_s,
        end_s=start_s + 1,
        utterance=Utterance(np.full(RATE, level, np.float32), start_s, start_s + 1),
    )
