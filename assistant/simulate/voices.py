"""The simulated mechanic's voices: several speakers, natural where one is installed, at several speeds.

A speaker is a voice, a pace and a size. Size plays the sound slower or faster than it was made, which
moves pitch and formants together, as a larger or smaller body does; so one natural voice serves as
several people. Only voices that give the same sound for the same words are used, so that a session
made from a seed is the same on every run; the seed varies size and rests a little, as people do.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from typing import Final

import numpy as np
import soxr

from assistant.simulate.levels import active_level
from assistant.sound import RATE, Sound, join, silence
from assistant.speaking.engines import espeak, piper
from assistant.speaking.voice import Voice

SPEECH_DB: Final = -26.0
"""The active speech level of every utterance, ITU-T P.56 method B, relative to full scale."""

_SIZE_SPREAD: Final = 0.02
_REST_S: Final = (0.15, 0.35)
"""The silence before and after the words."""
_ROOM_DB: Final = -70.0
"""What a microphone gives in a quiet room. Perfect silence is found nowhere, and upsets recognisers."""
_HIGHEST_PEAK: Final = 0.95


@dataclass(frozen=True, kw_only=True)
class MechanicVoice:
    """One speaker. `pace` 1 is usual; `size` above 1 is larger: deeper, and slower by as much."""

    name: str
    engine: str
    open: Callable[[], Voice]
    pace: float = 1.0
    size: float = 1.0

    def say(self, words: str, seed: int) -> Sound:
        """Say words, 16,000 samples a second at SPEECH_DB; equal words and seed give equal sound.

        Raises SpeakingError where the voice cannot be used.
        """
        rng = np.random.default_rng(seed)
        size = self.size * rng.uniform(1 - _SIZE_SPREAD, 1 + _SIZE_SPREAD)
        before, after = (silence(float(rest_s)) for rest_s in rng.uniform(*_REST_S, size=2))
        sound = _resized(self.open().render(words, pace=self.pace), size)
        # Levelled with its rests, as it will be heard: method B counts 0.2 s after the last word.
        levelled = _levelled(join([before, sound, after]))
        hum = (10 ** (_ROOM_DB / 20) * rng.standard_normal(len(levelled.samples))).astype(np.float32)
        return Sound(levelled.samples + hum, RATE)


def mechanics() -> tuple[MechanicVoice, ...]:
    """Give the speakers that can be used here, natural ones first; empty where there is no voice at all."""
    return tuple(voice for voice in _MECHANICS if not _PRESENT[voice.engine]())


@cache
def _natural(pace: float) -> Voice:
    # One a pace: a Piper process has one pace, and starting one takes a second.
    del pace
    return piper.PiperVoice()


@cache
def _synthetic(language: str, variant: str) -> Voice:
    return espeak.EspeakVoice(language, variant)


_PRESENT: Final = {"piper": piper.present, "espeak": espeak.present}

# eSpeak NG's pitch flutters from one time to the next, except in the variants named here.
_MECHANICS: Final = (
    MechanicVoice(name="steady", engine="piper", open=partial(_natural, 1.0)),
    MechanicVoice(name="large", engine="piper", open=partial(_natural, 1.0), size=1.08),
    MechanicVoice(name="small", engine="piper", open=partial(_natural, 1.0), size=0.93),
    MechanicVoice(name="quick", engine="piper", open=partial(_natural, 1.2), pace=1.2),
    MechanicVoice(name="robot", engine="espeak", open=partial(_synthetic, "en-us", "klatt6")),
    MechanicVoice(name="slow robot", engine="espeak", open=partial(_synthetic, "en-us", "klatt6"), pace=0.85),
    MechanicVoice(name="other robot", engine="espeak", open=partial(_synthetic, "en-us", "Denis")),
    MechanicVoice(name="British robot", engine="espeak", open=partial(_synthetic, "en-gb", "klatt6")),
)


def _resized(sound: Sound, size: float) -> Sound:
    """Play the sound slower by `size`, which lowers its pitch and formants by as much."""
    return Sound(soxr.resample(sound.samples, sound.rate, RATE * size).astype(np.float32), RATE)


def _levelled(sound: Sound) -> Sound:
    samples = sound.samples
    if not np.any(samples):
        return sound
    gain = 10 ** ((SPEECH_DB - active_level(samples, sound.rate)) / 20)
    gain = min(gain, _HIGHEST_PEAK / float(np.max(np.abs(samples))))
    return Sound(samples * np.float32(gain), sound.rate)
