"""The path of a microphone into a job: sound in, utterances out, each recognised and acted on at once."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from assistant.errors import AssistantError
from assistant.hearing.ear import Ear
from assistant.hearing.recogniser import Recognised
from assistant.hearing.sources import BLOCK
from assistant.simulate.noise import mix
from assistant.simulate.voices import MechanicVoice, mechanics
from assistant.sound import RATE, Samples, Sound, join, silence
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor

_LEAD_S: Final = 0.4
_TAIL_S: Final = 0.8
_UNNATURAL: Final = 0.2
"""How often any voice may speak, the robots among them; else it is one of the natural ones, where there are."""


@dataclass
class Ears:
    """What hears for a job; its clock goes as the sound does."""

    ear: Ear
    conductor: Conductor
    clock: MovedClock

    def hear(self, sound: Sound) -> list[Recognised]:
        """Let the assistant hear a piece of sound; gives what it made of it."""
        heard = []
        for block in blocks(sound):
            self.clock.pass_time(BLOCK / RATE)
            self.conductor.sound(block)
            for each in self.ear.push(block):
                heard.append(each)
                self.conductor.take(each)
        return heard


def blocks(sound: Sound) -> Iterator[Samples]:
    """Cut sound into the blocks of a microphone, shape (BLOCK,) each; what does not fill one is left out."""
    whole = len(sound.samples) // BLOCK * BLOCK
    yield from sound.samples[:whole].reshape(-1, BLOCK)


@dataclass
class Speech:
    """The mechanic's speech against noise, from a seed: one of several voices at each saying."""

    speakers: tuple[MechanicVoice, ...]
    noise: Sound
    snr_db: float
    rng: random.Random

    def speaker(self, *, natural: bool = False) -> MechanicVoice:
        """Choose who speaks: mostly, or always, one of the natural voices."""
        best = [speaker for speaker in self.speakers if speaker.engine == self.speakers[0].engine]
        unnatural = self.rng.random() < _UNNATURAL and not natural
        return self.rng.choice(self.speakers if unnatural else best)

    def said(self, words: str, speaker: MechanicVoice) -> Sound:
        """Say something against the noise."""
        spoken = speaker.say(words, self.rng.randrange(1 << 16))
        whole = join([silence(_LEAD_S), spoken, silence(_TAIL_S)])
        start = self.rng.randrange(len(self.noise.samples))
        return mix(whole, Sound(np.roll(self.noise.samples, -start)), self.snr_db)


def speakers_here() -> tuple[MechanicVoice, ...]:
    """Give the voices of the simulated mechanic. Raises AssistantError where there is none."""
    if found := mechanics():
        return found
    raise AssistantError("there is no voice for the simulated mechanic", do="see callout ready")
