"""Train the delta: minutes on one GPU, with measuring on what is held out as it goes."""

import argparse
import json
import math
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
import torch
from torch.nn import functional
from torch.utils.data import DataLoader

from assistant.evaluate.training.clips import SHARES, Clips, gathered
from assistant.evaluate.training.network import RANK, Whisper
from assistant.evaluate.training.plans import UNKNOWN, Plans, Setting, Words
from assistant.evaluate.training.score import Measured, cases, measure
from assistant.evaluate.training.sounds import Bank, Shop
from assistant.evaluate.training.spelling import IGNORED
from assistant.hearing.delta import ADD, Model

_RATE_AT_MOST: Final = 6e-4
_WARMING: Final = 100
_DECAY: Final = 0.01
_NORM_AT_MOST: Final = 1.0
_TEST_FILES: Final = {"words.npz", "base.npz"}
_NORMS_SHARE: Final = 0.5
_REFRESHED_S: Final = 75
_KEPT_S: Final = 60
_SHOWN_EVERY: Final = 100
_FOLLOWS: Final = 0.001  # of each step goes into the mean of the weights that is kept


@dataclass
class Run:
    """One run: what it was given, and what it has at hand."""

    args: argparse.Namespace
    network: Whisper
    words: Words
    special: dict[str, int]
    mels: np.ndarray[Any, Any]
    pool: ProcessPoolExecutor
    packed: dict[Path, Clips] = field(default_factory=dict)

    def read(self, files: Sequence[Path]) -> Clips:
        """Give the clips of packed files, each read once."""
        every = Clips([], [])
        for path in files:
            if path not in self.packed:
                self.packed[path] = Clips([], [])
                self.packed[path].add(path, self.pool)
            every.lines += self.packed[path].lines
            every.sound += self.packed[path].sound
        return every

    def log(self, text: str) -> None:
        """Say and keep a line."""
        sys.stdout.write(f"{text}\n")
        sys.stdout.flush()
        with (self.args.out / "log.txt").open("a", encoding="utf-8") as file:
            file.write(text + "\n")


def read_base(path: Path) -> Model:
    """Read the base weights as packed."""
    with np.load(path) as packed:
        arrays = {name: packed[name] for name in packed.files if not name.endswith("|scale")}
        for name in packed.files:
            if name.endswith("|scale"):
                plain = name.removesuffix("|scale")
                arrays[plain] = arrays[plain].astype(np.float32) * packed[name]
    return Model("WhisperSpec", 3, arrays, ())


def loss_of(network: Whisper, shop: Shop, batch: dict[str, torch.Tensor], sounds: float) -> torch.Tensor:
    """Make the sound of a batch and give the loss: of the words, and so much of that of the sounds."""
    window_s = int(batch["window"])
    with torch.no_grad():
        mels = shop.mels(shop.windows(batch, window_s), varied=True)
    network.refresh()
    with torch.autocast(mels.device.type, torch.bfloat16, enabled=mels.is_cuda):
        encoded = network.encode(mels)
        hidden = network.decode(batch["tokens"], encoded)
        chosen = batch["wanted"] != IGNORED
        logits = network.logits(hidden[chosen])
        logs = network.sounds(encoded)
    words = functional.cross_entropy(logits.float(), batch["wanted"][chosen])
    return words + sounds * loss_of_sounds(logs, batch["sounds"], batch["count"])


def loss_of_sounds(logs: torch.Tensor, sounds: torch.Tensor, count: torch.Tensor) -> torch.Tensor:
    """Give the CTC loss (Graves et al. 2006, from memory) a sound, over the windows whose sounds are known."""
    known = count != UNKNOWN
    logs, sounds, count = logs[known].transpose(0, 1), sounds[known], count[known]
    frames = torch.full_like(count, logs.shape[0])
    return functional.ctc_loss(logs, sounds, frames, count, zero_infinity=True)


def rate(step: float, warming: float) -> float:
    """Give the learning rate at a share from 0 to 1 of the time: up quickly, then down a cosine."""
    return _RATE_AT_MOST * min(1.0, warming) * 0.5 * (1 + math.cos(math.pi * min(step, 1.0)))


class Trainer:
    """Trains for the time given; keeps the delta every minute, and measures now and then."""

    def __init__(self, run: Run) -> None:
        self.run, self.args = run, run.args
        self.weights = list(run.network.delta.values())
        self.mean = [value.detach().clone() for value in self.weights]
        plain = [value for key, value in run.network.delta.items() if key.endswith(ADD)]
        factors = [value for key, value in run.network.delta.items() if not key.endswith(ADD)]
        self.optimizer = torch.optim.AdamW(
            [{"params": factors, "share": 1.0}, {"params": plain, "share": _NORMS_SHARE}],
            lr=_RATE_AT_MOST,
            weight_decay=_DECAY,
            betas=(0.9, 0.98),
            fused=run.args.device == "cuda",
        )
        self.started = time.monotonic()
        self.step = self.skipped = 0
        self.kept_at, self.measured_at = 0.0, float(run.args.measure_every)
        self.losses: list[float] = []
        self.files: list[Path] = []

    def train(self) -> None:
        """Train, then measure at length."""
        while not self._is_over:
            self._gather()
            self._stretch()
        self._keep()
        self._to_mean()
        self.run.log(f"ended after {self._passed:.0f} s and {self.step} steps")
        found = measure(self.run, self.cases, snrs=(None, 10, 5, 0), most=self.args.eval)
        told(self.run, found, "at the end")

    @property
    def _passed(self) -> float:
        return time.monotonic() - self.started

    @property
    def _is_over(self) -> bool:
        return bool(self._passed > self.args.minutes * 60 or self.step >= self.args.steps)

    def _gather(self) -> None:
        """Read what is there, also what has come since."""
        args = self.args
        found = sorted({*args.data.glob("*.npz"), *(args.more.glob("*.npz") if args.more else ())})
        found = [path for path in found if path.name not in _TEST_FILES]
        if found == self.files:
            return
        first, self.files = not self.files, found
        self.speech, self.noise, every = gathered(self.run.read(found), self.run.words.words, args.seed)
        speech, noise = (Bank.of(clips.sound, args.device) for clips in (self.speech, self.noise))
        self.shop = Shop(speech, noise, self.run.mels, args.device, args.seed + self.step)
        if first:
            self.cases = cases(every, self.run.words.sounds, args.eval, args.seed)
        self.run.log(f"{self._passed:.0f} s: {len(self.speech.sound)} clips, {len(self.noise.sound)} noises")

    def _stretch(self) -> None:
        """Train until it is time to see what has come."""
        args, run = self.args, self.run
        setting = Setting(run.special, args.batch, args.seed + 1000 * self.step, args.real)
        plans = Plans(self.speech, self.noise, run.words, setting)
        loader = DataLoader(
            plans,
            batch_size=None,
            num_workers=args.workers,
            pin_memory=args.device == "cuda",
            prefetch_factor=6 if args.workers else None,
        )
        until = time.monotonic() + _REFRESHED_S if args.more else math.inf
        for batch in loader:
            self._one(batch)
            self._now_and_then()
            if self._is_over or time.monotonic() > until:
                return

    def _one(self, batch: dict[str, torch.Tensor]) -> None:
        batch = {name: value.to(self.args.device, non_blocking=True) for name, value in batch.items()}
        for group in self.optimizer.param_groups:
            now = rate(self._passed / (60 * self.args.minutes), self.step / _WARMING)
            group["lr"] = group["share"] * now * self.args.rate
        loss = loss_of(self.run.network, self.shop, batch, self.args.sounds)
        self.optimizer.zero_grad(set_to_none=True)
        loss.backward()
        norm = torch.nn.utils.clip_grad_norm_(self.run.network.delta.values(), _NORM_AT_MOST)
        if torch.isfinite(norm):
            self.optimizer.step()
            self._follow()
        else:
            self.skipped += 1
        self.step += 1
        if self.step % _SHOWN_EVERY == 0:
            self.losses.append(loss.item())
            self.run.log(
                f"{self._passed:.0f} s, step {self.step}: loss {np.mean(self.losses[-5:]):.3f}, "
                f"norm {norm.item():.2f}, skipped {self.skipped}"
            )

    @torch.no_grad()  # type: ignore[untyped-decorator]
    def _follow(self) -> None:
        """Take the step into the mean of the weights, which hears better than any one step's."""
        share = max(_FOLLOWS, 1 / (1 + self.step))
        torch._foreach_lerp_(self.mean, self.weights, share)

    @torch.no_grad()  # type: ignore[untyped-decorator]
    def _to_mean(self) -> None:
        """Swap the weights and their mean."""
        for weight, mean in zip(self.weights, self.mean, strict=True):
            now = weight.clone()
            weight.copy_(mean)
            mean.copy_(now)

    def _keep(self) -> None:
        self._to_mean()
        kept: dict[str, Any] = self.run.network.kept()
        np.savez(self.args.out / "delta.npz", **kept)
        self._to_mean()

    def _now_and_then(self) -> None:
        if self._passed - self.kept_at > _KEPT_S:
            self.kept_at = self._passed
            self._keep()
        if self._passed > self.measured_at:
            self.measured_at = self._passed + self.args.measure_every
            self._to_mean()
            told(self.run, measure(self.run, self.cases, snrs=(None, 5), most=60), "held out")
            self._to_mean()


def told(run: Run, found: Sequence[Measured], when: str) -> None:
    """Say what was measured."""
    for line in found:
        run.log(f"  {when}: {line}")


def main() -> None:
    """Train."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("data", type=Path, help="folder with base.npz, words.npz and packed sounds")
    given.add_argument("out", type=Path)
    given.add_argument("--more", type=Path, help="a folder in which packed sounds still arrive")
    given.add_argument("--go-on", type=Path, help="a delta to start from")
    given.add_argument("--minutes", type=float, default=8.0)
    given.add_argument("--steps", type=int, default=1_000_000)
    given.add_argument("--batch", type=int, default=128)
    given.add_argument("--rate", type=float, default=1.0)
    given.add_argument("--workers", type=int, default=5)
    given.add_argument("--eval", type=int, default=250)
    given.add_argument("--measure-every", type=float, default=120)
    given.add_argument("--seed", type=int, default=5)
    given.add_argument("--rank", type=int, default=RANK)
    given.add_argument("--sounds", type=float, default=0.3, help="the share of the loss of the sounds")
    given.add_argument("--real", type=float, default=SHARES["real"], help="how often real people are heard")
    given.add_argument("--device", default="cuda")
    args = given.parse_args()
    torch.manual_seed(args.seed)
    torch.backends.cuda.matmul.allow_tf32 = True
    with np.load(args.data / "words.npz") as packed:
        about, mels = json.loads(str(packed["words"])), packed["mels"]
    special = about.pop("special")
    network = Whisper(read_base(args.data / "base.npz"), args.rank).to_device(args.device)
    if args.go_on:
        with np.load(args.go_on) as kept:
            network.load(kept)
    args.out.mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor(4) as pool:
        Trainer(Run(args, network, Words(**about), special, mels, pool)).train()


if __name__ == "__main__":
    main()
