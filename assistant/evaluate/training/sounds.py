"""Clips made into what a microphone in a loud shop gives, on the GPU, anew each time.

For each window: the clip faster or slower (with pitch and formants), its tone changed (tilt, ripple, the narrow
band of a headset or a far microphone), a room, noises of the bank or made here (coloured, beating, humming; even, or
coming and going) at a stated ratio, a level, sometimes a clipped microphone. In most windows the sound is cut
out as the endpointer cuts it, at the window's start with nothing after it.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

RATE: Final = 16_000
_ROOM: Final = 8192
_FRAME, _HOP = 400, 160
_SWELLS: Final = 7  # turns of a noise that comes and goes, within a window
_SWELL_DB: Final = 6.0


@dataclass
class Bank:
    """Sound of many clips end to end, int16 on the device, with where each begins and how long it is."""

    samples: Tensor
    starts: Tensor
    lengths: Tensor

    @classmethod
    def of(cls, clips: list[np.ndarray[Any, Any]], device: str) -> "Bank":
        """Put clips (int16) together."""
        lengths = np.array([len(clip) for clip in clips], np.int64)
        starts = np.concatenate([[0], np.cumsum(lengths)[:-1]])
        joined = np.concatenate([*clips, np.zeros(8, np.int16)])
        return cls(*(torch.from_numpy(array).to(device) for array in (joined, starts, lengths)))

    def read(self, which: Tensor, places: Tensor, *, loop: bool = False) -> Tensor:
        """Read clips at fractional places (n, length), by cubic interpolation; silence outside them."""
        length = self.lengths[which][:, None]
        floor = torch.floor(places)
        part = (places - floor).float()
        at = floor.long()
        inside = (at >= 1) & (at < length - 2)
        taps = []
        for shift in (-1, 0, 1, 2):
            index = (at + shift) % length if loop else (at + shift).clamp(min=0).minimum(length - 1)
            taps.append(self.samples[self.starts[which][:, None] + index].float() / 32768)
        a, b, c, d = taps
        value = b + 0.5 * part * (c - a + part * (2 * a - 5 * b + 4 * c - d + part * (3 * (b - c) + d - a)))
        return value if loop else value * inside


def curve(count: int, size: int, depth_db: float, device: str, generator: torch.Generator) -> Tensor:
    """Give random gains (count, size) over the spectrum: a slow ripple on a scale of octaves, and a tilt."""
    knots = torch.randn(count, 1, 9, device=device, generator=generator) * depth_db
    hertz = torch.linspace(0, RATE / 2, size, device=device)
    octave = torch.log2(hertz.clamp(min=60) / 60) / 7.06 * 8
    low = octave.floor().clamp(max=7).long()
    part = octave - low
    decibels = knots[:, 0][:, low] * (1 - part) + knots[:, 0][:, low + 1] * part
    tilt = torch.randn(count, 1, device=device, generator=generator) * depth_db * 0.5
    return 10 ** ((decibels + tilt * (octave - 4) / 2) / 20)


class Shop:
    """Makes windows of sound and their log-mels."""

    def __init__(
        self, speech: Bank, noise: Bank, mel_filters: np.ndarray[Any, Any], device: str, seed: int
    ) -> None:
        self.speech, self.noise, self.device = speech, noise, device
        self._mels = torch.from_numpy(mel_filters.astype(np.float32)).to(device)
        self._hann = torch.hann_window(_FRAME, device=device)
        self._rng = torch.Generator(device=device).manual_seed(seed)

    def _uniform(self, *shape: int, low: float = 0.0, high: float = 1.0) -> Tensor:
        return low + (high - low) * torch.rand(*shape, device=self.device, generator=self._rng)

    def _chance(self, count: int, share: float) -> Tensor:
        return self._uniform(count, 1) < share

    def windows(self, plan: dict[str, Tensor], window_s: float, *, plain: bool = False) -> Tensor:
        """Make the windows (n, samples) of a plan; `plain` leaves all but the noise out, for measuring."""
        count, size = len(plan["clip"]), round(window_s * RATE)
        lasts = self._lasts(plan)
        begin = plan["begin"][:, None]
        steps = torch.arange(size, device=self.device, dtype=torch.float64)[None]
        places = plan["from"][:, None] + (steps - begin) * plan["speed"][:, None]
        there = (steps >= begin) & (steps < begin + lasts)
        speech = self.speech.read(plan["clip"], places) * there
        if not plain:
            speech = self._roomed(speech)
        if "second" in plan:
            beside = self.speech.read(plan["second"], steps * 1.0) * plan["second_gain"][:, None]
            speech = speech + self._levelled(beside) * plan["second_gain"][:, None]
        speech = self._levelled(speech) * plan["loud"][:, None]
        noise = self._noises(plan, count, size, plain=plain)
        sound = speech + noise * 10 ** (-plan["snr"][:, None] / 20)
        if not plain:
            sound = self._microphone(sound)
        ends = begin + lasts + plan["after"][:, None]
        begins = begin - plan["before"][:, None]
        kept = (~plan["cut"][:, None].bool()) | ((steps >= begins) & (steps < ends))
        return (sound * kept * 10 ** (plan["level"][:, None] / 20)).float()

    def _lasts(self, plan: dict[str, Tensor]) -> Tensor:
        return (plan["take"] / plan["speed"])[:, None]

    def _levelled(self, sound: Tensor) -> Tensor:
        """Bring speech to an active level of 1 (its loud parts; pauses do not count)."""
        frames = functional.avg_pool1d((sound.float() ** 2)[:, None], 400, 200)[:, 0]
        active = frames > frames.amax(1, keepdim=True) * 0.006
        power = (frames * active).sum(1, keepdim=True) / active.sum(1, keepdim=True).clamp(min=1)
        return sound.float() / power.clamp(min=1e-9).sqrt()

    def _roomed(self, speech: Tensor) -> Tensor:
        """Change tone and room in one pass over the spectrum."""
        count, size = speech.shape
        full = size + _ROOM
        gains = curve(count, full // 2 + 1, 3.0, self.device, self._rng)
        gains = torch.where(self._chance(count, 0.7), gains, torch.ones_like(gains))
        hertz = torch.linspace(0, RATE / 2, full // 2 + 1, device=self.device)[None]
        low = torch.where(self._chance(count, 0.4), self._uniform(count, 1, low=80, high=450), 1.0)
        high = torch.where(self._chance(count, 0.35), self._uniform(count, 1, low=2600, high=7000), 1e5)
        band = 1 / (1 + (low / hertz.clamp(min=1)) ** 4) / (1 + (hertz / high) ** 8)
        # Old recordings and telephones have nothing above 4 kHz.
        narrow = torch.where(self._chance(count, 0.22), self._uniform(count, 1, low=3200, high=4000), 1e5)
        spectrum = torch.fft.rfft(speech.float(), full) * gains * band * (hertz < narrow)
        return torch.fft.irfft(spectrum * torch.fft.rfft(self._room(count), full), full)[:, :size]

    def _room(self, count: int) -> Tensor:
        steps = torch.arange(_ROOM, device=self.device)[None] / RATE
        decay = self._uniform(count, 1, low=0.08, high=0.55) / 6.9
        tail = torch.randn(count, _ROOM, device=self.device, generator=self._rng) * torch.exp(-steps / decay)
        delay = self._uniform(count, 1, low=0.001, high=0.012)
        tail = tail * (steps > delay)
        tail = tail / tail.square().sum(1, keepdim=True).clamp(min=1e-9).sqrt()
        direct_db = self._uniform(count, 1, low=-4, high=14)
        wet = torch.where(self._chance(count, 0.4), 10 ** (-direct_db / 20), 0.0)
        tail = tail * wet
        tail[:, 0] += 1
        return tail

    def _noises(self, plan: dict[str, Tensor], count: int, size: int, *, plain: bool) -> Tensor:
        steps = torch.arange(size, device=self.device, dtype=torch.float64)[None]
        first = self.noise.read(
            plan["noise"], plan["noise_at"][:, None] + steps * plan["noise_speed"][:, None], loop=True
        ).float()
        if plain:
            return self._even(first)
        beside = self.noise.read(plan["beside"], plan["beside_at"][:, None] + steps, loop=True).float()
        first = self._even(first) + self._even(beside) * plan["beside_gain"][:, None].float()
        first = self._even(self._shaped(self._even(first), 2.5))
        made = self._made(count, size)
        share = self._uniform(count, 1)
        # Of ten windows six have a noise of the bank, two one made here, two both.
        mixed = torch.where(share < 0.6, first, torch.where(share < 0.8, made, first + made * (share - 0.5)))
        return self._even(self._coming_and_going(self._even(mixed)))

    def _coming_and_going(self, noise: Tensor) -> Tensor:
        """Let the noise swell and sink by some 10 dB within the window, in three of ten windows."""
        count, size = noise.shape
        knots = torch.randn(count, 1, _SWELLS, device=self.device, generator=self._rng) * _SWELL_DB
        decibels = functional.interpolate(knots, size, mode="linear", align_corners=True)[:, 0]
        gains = torch.where(self._chance(count, 0.3), 10 ** (decibels / 20), 1.0)
        return noise * gains

    def _even(self, noise: Tensor) -> Tensor:
        return noise / noise.square().mean(1, keepdim=True).clamp(min=1e-9).sqrt()

    def _shaped(self, noise: Tensor, depth_db: float) -> Tensor:
        gains = curve(len(noise), noise.shape[1] // 2 + 1, depth_db, self.device, self._rng)
        return torch.fft.irfft(torch.fft.rfft(noise) * gains, noise.shape[1])

    def _made(self, count: int, size: int) -> Tensor:
        """Make coloured noise that beats like an engine, with a row of harmonics in half of the cases."""
        steps = torch.arange(size, device=self.device)[None] / RATE
        wide = self._shaped(torch.randn(count, size, device=self.device, generator=self._rng), 8.0)
        turn = torch.exp(self._uniform(count, 1, low=0.7, high=5.2))  # 2 to 180 Hz
        sway = 1 + 0.03 * torch.sin(6.28 * steps * self._uniform(count, 1, low=0.2, high=1.5))
        angle = 6.28 * turn * steps * sway + self._uniform(count, 1, high=6.28)
        depth = torch.where(self._chance(count, 0.6), self._uniform(count, 1), 0.0)
        sharp = self._uniform(count, 1, low=1, high=8)
        beat = (0.5 + 0.5 * torch.cos(angle)) ** sharp
        wide = self._even(wide * (1 - depth + depth * beat))
        orders = torch.arange(1, 25, device=self.device)[None, :, None]
        weight = torch.rand(count, 24, 1, device=self.device, generator=self._rng) / orders**0.5
        base = torch.exp(self._uniform(count, 1, 1, low=3.4, high=6.0))  # 30 to 400 Hz
        tone = (
            weight * torch.sin(6.28 * base * orders * (steps * sway)[:, None]) * (base * orders < 7000)
        ).sum(1)
        hum = torch.where(self._chance(count, 0.5), self._uniform(count, 1, high=1.5), 0.0)
        return self._even(wide + hum * self._even(tone))

    def _microphone(self, sound: Tensor) -> Tensor:
        count = len(sound)
        drive = self._uniform(count, 1, low=1, high=4) / sound.abs().amax(1, keepdim=True).clamp(min=1e-6)
        sound = torch.where(self._chance(count, 0.06), torch.tanh(sound * drive) / drive, sound)
        hiss = torch.randn(sound.shape, device=self.device, generator=self._rng)
        return sound + hiss * 10 ** (self._uniform(count, 1, low=-75, high=-35) / 20)

    def mels(self, windows: Tensor, *, varied: bool = False) -> Tensor:
        """Give log-mels (n, 80, frames) as Whisper's own feature extractor makes them of such a window."""
        padded = functional.pad(windows[:, None], (_FRAME // 2, _FRAME // 2), mode="reflect")[:, 0]
        spectrum = torch.stft(padded, _FRAME, _HOP, window=self._hann, center=False, return_complex=True)
        power = spectrum[..., : windows.shape[1] // _HOP].abs() ** 2
        logs = torch.log10((self._mels @ power).clamp(min=1e-10))
        logs = torch.maximum(logs, logs.amax((1, 2), keepdim=True) - 8)
        mels = (logs + 4) / 4
        return self._warped(mels) if varied else mels

    def _warped(self, mels: Tensor) -> Tensor:
        """Move the formants (another length of the vocal tract), and mask a strip now and then."""
        count, bins, frames = mels.shape
        factor = torch.where(self._chance(count, 0.5), self._uniform(count, 1, low=0.92, high=1.09), 1.0)
        places = (torch.arange(bins, device=self.device)[None] * factor).clamp(max=bins - 1.001)
        low = places.floor().long()
        part = (places - low)[..., None]
        lower, upper = (mels.gather(1, index[..., None].expand(-1, -1, frames)) for index in (low, low + 1))
        mels = lower * (1 - part) + upper * part
        rows = torch.arange(bins, device=self.device)[None]
        start = self._uniform(count, 1, high=bins)
        masked = (
            self._chance(count, 0.35)
            & (rows >= start)
            & (rows < start + self._uniform(count, 1, low=1, high=9))
        )
        return torch.where(masked[..., None], mels.mean((1, 2), keepdim=True), mels)
