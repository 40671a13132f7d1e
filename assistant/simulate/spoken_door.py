"""The door of a rehearsal with sound: every saying is synthesised, laid under noise, and really recognised."""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from assistant.hearing.ear import Ear
from assistant.hearing.opening import open_recogniser
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.simulate.ears import Ears, Speech, speakers_here
from assistant.simulate.noise import workshop
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor

_NOISE_S: Final = 20.0


@dataclass(frozen=True)
class SpokenDoor:
    """Speaks what the mechanic says, and lets the job hear it as through a microphone."""

    recogniser: Recogniser
    speech: Speech

    def hear(self, conductor: Conductor, clock: MovedClock, words: str) -> Sequence[Recognised]:
        """Let the job hear some words against the noise, and act on them."""
        ears = Ears(Ear(recogniser=self.recogniser, grammar_now=conductor.grammar), conductor, clock)
        return ears.hear(self.speech.said(words, self.speech.speaker()))


def open_door(*, engine: str | None, model: Path | None, snr_db: float, seed: int) -> SpokenDoor:
    """Open what speaks and what hears. Raises AssistantError where one of the two is not here."""
    speech = Speech(speakers_here(), workshop(_NOISE_S, seed), snr_db, random.Random(seed))
    return SpokenDoor(open_recogniser(engine, model=model), speech)
