"""A clip as a microphone would bring it: with what is before and after it, in noise at a stated ratio.

The ratio is the active speech level of the clip (ITU-T P.56, method B) above the RMS level of the noise over the
whole, as in `simulate.noise.mix`. Noise shorter than the whole begins again; longer noise is entered anywhere.
Without noise there is room tone, _ROOM_TONE_DB below the speech.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from assistant.evaluate.wanted import Case
from assistant.simulate.levels import active_level
from assistant.simulate.noise import mix
from assistant.sound import RATE, Samples, Sound, join, read_sound, silence

_BEFORE_S: Final = (0.8, 1.4)
_AFTER_S: Final = 1.5
_ROOM_TONE_DB: Final = 50.0
_FAINT: Final = 1e-4  # room tone where there is no speech to hold it against
_FRAME: Final = RATE // 100
_MARGIN_DB: Final = 15.9  # ITU-T P.56: what is nearer than this to the active level counts as speech


@dataclass(frozen=True, eq=False)
class Placed:
    """What is played, shape (n,) at 16,000 a second.

    `clip_s` is how long the clip in it is, `spoken_until_s` when its speech ends, in seconds from the start.
    """

    samples: Samples
    clip_s: float
    spoken_until_s: float

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return len(self.samples) / RATE


def place(case: Case) -> Placed:
    """Put a case's clip into its surroundings. Raises AssistantError for files that cannot be read."""
    rng = np.random.default_rng((case.seed, 1))
    before_s = case.before_s + float(rng.uniform(*_BEFORE_S))
    clip = read_sound(case.clip.path).at(RATE)
    whole = join([silence(before_s), clip, silence(_AFTER_S)])
    tone = Sound(rng.standard_normal(len(whole.samples)).astype(np.float32))
    if case.clip.part == "noise":
        return Placed(whole.samples + np.float32(_FAINT) * tone.samples, clip.seconds, 0.0)
    noise = _entered(read_sound(case.noise.path).at(RATE), len(whole.samples), rng) if case.noise else tone
    mixed = mix(whole, noise, float(case.snr) if case.noise else _ROOM_TONE_DB)
    return Placed(mixed.samples, clip.seconds, before_s + speech_end(clip.samples))


def speech_end(samples: Samples) -> float:
    """Give when the last sound at speech level ends, in seconds, in samples of shape (n,)."""
    frames = samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME)
    power = np.mean(np.square(frames, dtype=np.float64), axis=1)
    loud = np.flatnonzero(power >= 10 ** ((active_level(samples) - _MARGIN_DB) / 10))
    return float((loud[-1] + 1) * _FRAME if len(loud) else len(samples)) / RATE


def _entered(noise: Sound, length: int, rng: np.random.Generator) -> Sound:
    """Cut as much noise as is needed, from anywhere in it."""
    count = len(noise.samples)
    start = int(rng.integers(max(1, count - length if count > length else count)))
    return Sound(np.resize(np.roll(noise.samples, -start), length) if count else noise.samples)
