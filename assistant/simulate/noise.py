"""The noise of a workshop, made from a seed, and mixed with speech at a stated ratio.

The recipe, each part scaled to its own level while it sounds (dB relative to the compressor):

    floor       0 to -12: pink noise, always there
    compressor  piston harmonics, mains hum and a rattle that beats with the piston; comes and goes
    hiss        air escaping, 2-7 kHz, a second or so at a time
    hammer      rows of blows that ring at a handful of modes each
    grinder     rotor harmonics and a broad screech, 1-6 kHz, running up and down
    radio       voices given by the caller, overlaid and narrowed to 300-3400 Hz

The ratio is that of the active speech level (ITU-T P.56, method B) to the RMS level of the noise
over the whole length, full band up to 8 kHz, without weighting. Passing noises are therefore for a
while several decibels nearer to the speech than the ratio says, as they are in a shop. The sounds
are invented, from no recording; the levels are common practice, no source.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from assistant.simulate.levels import active_level, rms_level
from assistant.sound import RATE, Sound

_Reals = npt.NDArray[np.float64]
_Source = Callable[[np.random.Generator, int], _Reals]

NOISE_DB: Final = -26.0
"""The RMS level at which `workshop` gives its noise, relative to full scale."""

_HIGHEST_PEAK: Final = 0.95
_FADE_S: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class _Part:
    """One source of noise: its level while it sounds, how long and how often it does.

    `every_s` is the mean rest between two times; 0 means that it never rests.
    """

    source: _Source
    level_db: float
    lasts_s: tuple[float, float] = (0.0, 0.0)
    every_s: float = 0.0


def workshop(seconds: float, seed: int, radio: Sequence[Sound] = ()) -> Sound:
    """Make that much workshop noise, 16,000 samples a second, at NOISE_DB; equal seeds give equal noise.

    `radio` are voices that talk in the background, one over the other.
    """
    count = max(round(seconds * RATE), 1)
    total = np.zeros(count)
    for number, part in enumerate(_PARTS):
        rng = np.random.default_rng((seed, number))
        for start, length in _times(part, rng, count):
            piece = _at_level(part.source(rng, length), part.level_db)
            total[start : start + length] += piece * (_faded(length) if part.every_s else 1.0)
    if radio:
        rng = np.random.default_rng((seed, len(_PARTS)))
        total += _at_level(_radio(rng, count, radio), _RADIO_DB)
    return Sound(_at_level(total, NOISE_DB).astype(np.float32), RATE)


def babble(seconds: float, seed: int, voices: Sequence[Sound]) -> Sound:
    """Make that much of a room full of people, 16,000 samples a second, at NOISE_DB: voices one over the other."""
    count = max(round(seconds * RATE), 1)
    total = _overlaid(np.random.default_rng((seed, len(_PARTS))), count, voices)
    return Sound(_at_level(total, NOISE_DB).astype(np.float32), RATE)


def mix(speech: Sound, noise: Sound, snr_db: float) -> Sound:
    """Add noise to speech so that the speech is `snr_db` above it; as long as the speech, at its level.

    Noise that is too short begins again. Where the sum would pass full scale, both are made
    quieter alike, which leaves the ratio. Silence and absent noise are given back as they are.
    """
    speech = speech.at(RATE)
    hiss = np.resize(noise.at(RATE).samples, len(speech.samples))
    level_db = active_level(speech.samples)
    if not np.any(hiss) or not np.any(speech.samples):
        return speech
    gain = 10 ** ((level_db - snr_db - rms_level(hiss)) / 20)
    total = speech.samples + np.float32(gain) * hiss
    peak = float(np.max(np.abs(total)))
    return Sound((total * min(1.0, _HIGHEST_PEAK / peak)).astype(np.float32), RATE)


def _compressor(rng: np.random.Generator, count: int) -> _Reals:
    time_s = np.arange(count) / RATE
    turn_hz = rng.uniform(22, 27)
    sway = 1 + 0.004 * np.sin(2 * np.pi * 0.7 * time_s)
    piston = 2 * np.pi * turn_hz * np.cumsum(sway) / RATE
    hum = sum(np.sin(order * piston + rng.uniform(0, 6.3)) / order**0.7 for order in range(1, 25))
    mains = 0.5 * np.sin(2 * np.pi * 100 * time_s) + 0.3 * np.sin(2 * np.pi * 200 * time_s)
    rattle = _band(rng, count, 300, 2500) * (1 + np.cos(piston)) ** 2
    return np.asarray(hum + mains + 0.8 * rattle)


def _floor(rng: np.random.Generator, count: int) -> _Reals:
    return _shaped(rng, count, lambda hertz: 1 / np.sqrt(np.maximum(hertz, 40)))


def _hiss(rng: np.random.Generator, count: int) -> _Reals:
    return _band(rng, count, 2000, 7000)


def _hammer(rng: np.random.Generator, count: int) -> _Reals:
    """Strike one piece of metal in a row of blows: the same modes ring at every blow."""
    modes_hz = rng.uniform(500, 5500, size=6)
    decays_s = rng.uniform(0.02, 0.18, size=6)
    struck = np.zeros(count)
    place = 0
    while place < count:
        struck[place] = rng.uniform(0.5, 1.0)
        place += round(rng.uniform(0.28, 0.5) * RATE)
    time_s = np.arange(min(count, RATE // 2)) / RATE
    ring = sum(
        np.exp(-time_s / decay_s) * np.sin(2 * np.pi * mode_hz * time_s)
        for mode_hz, decay_s in zip(modes_hz, decays_s, strict=True)
    )
    click = np.exp(-time_s / 0.004) * rng.standard_normal(len(time_s))
    return _convolved(struck, np.asarray(ring + click))


def _grinder(rng: np.random.Generator, count: int) -> _Reals:
    time_s = np.arange(count) / RATE
    spin = 1 - 0.5 * np.exp(-time_s / 0.3) - 0.1 * np.abs(np.sin(2 * np.pi * 0.4 * time_s))
    rotor = 2 * np.pi * rng.uniform(150, 180) * np.cumsum(spin) / RATE
    whine = sum(np.sin(order * rotor) / order for order in (1, 2, 3, 6, 12))
    return np.asarray(whine + 1.5 * spin * _band(rng, count, 1000, 6000))


_PARTS: Final = (
    _Part(source=_floor, level_db=-12),
    _Part(source=_compressor, level_db=0, lasts_s=(6, 15), every_s=4),
    _Part(source=_hiss, level_db=-4, lasts_s=(0.3, 1.5), every_s=7),
    _Part(source=_hammer, level_db=-2, lasts_s=(1, 3), every_s=8),
    _Part(source=_grinder, level_db=0, lasts_s=(1, 3), every_s=20),
)
_RADIO_DB: Final = -6.0


def _times(part: _Part, rng: np.random.Generator, count: int) -> Iterator[tuple[int, int]]:
    """Say where a part sounds: pairs of first sample and number of samples."""
    if not part.every_s:
        yield 0, count
        return
    # It may have begun before the noise does.
    place = round(rng.uniform(-part.lasts_s[0], part.every_s) * RATE)
    while place < count:
        end = place + round(rng.uniform(*part.lasts_s) * RATE)
        start = max(place, 0)
        if min(end, count) > start:
            yield start, min(end, count) - start
        place = end + round(rng.exponential(part.every_s) * RATE)


def _radio(rng: np.random.Generator, count: int, voices: Sequence[Sound]) -> _Reals:
    return _filtered(_overlaid(rng, count, voices), _pass_band(300, 3400))


def _overlaid(rng: np.random.Generator, count: int, voices: Sequence[Sound]) -> _Reals:
    heard = np.zeros(count)
    for voice in voices:
        samples = voice.at(RATE).samples
        heard += np.roll(np.resize(samples, count), int(rng.integers(count or 1)))
    return heard


def _at_level(values: _Reals, level_db: float) -> _Reals:
    rms = float(np.sqrt(np.mean(np.square(values)))) if len(values) else 0.0
    return values * (10 ** (level_db / 20) / rms) if rms else values


def _faded(count: int) -> _Reals:
    """Give an envelope that comes in and goes out, so that no part begins with a click."""
    edge = min(round(_FADE_S * RATE), count // 2)
    rise = np.linspace(0, 1, edge)
    return np.concatenate([rise, np.ones(count - 2 * edge), rise[::-1]])


def _band(rng: np.random.Generator, count: int, low_hz: float, high_hz: float) -> _Reals:
    return _at_level(_shaped(rng, count, _pass_band(low_hz, high_hz)), 0.0)


def _pass_band(low_hz: float, high_hz: float) -> Callable[[_Reals], _Reals]:
    """Give a gain curve with soft sides, an octave and a half wide in effect."""
    return lambda hertz: 1 / (1 + (low_hz / np.maximum(hertz, 1)) ** 4) / (1 + (hertz / high_hz) ** 4)


def _shaped(rng: np.random.Generator, count: int, gain: Callable[[_Reals], _Reals]) -> _Reals:
    return _filtered(rng.standard_normal(count), gain)


def _filtered(values: _Reals, gain: Callable[[_Reals], _Reals]) -> _Reals:
    hertz = np.fft.rfftfreq(len(values), 1 / RATE)
    return np.fft.irfft(np.fft.rfft(values) * gain(np.asarray(hertz, dtype=np.float64)), len(values))


def _convolved(struck: _Reals, ring: _Reals) -> _Reals:
    size = len(struck) + len(ring)
    return np.fft.irfft(np.fft.rfft(struck, size) * np.fft.rfft(ring, size), size)[: len(struck)]
