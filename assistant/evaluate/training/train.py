"""Train the delta: minutes on one GPU, with measuring on what is held out as it goes.

Of ten windows about six say what the list allows, two lack a word in the list (often with words that sound
near in it), the others are talk, noise, words cut in half, two speakers at once, or have no list.
"""

import argparse
import io
import json
import math
import random
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
import soundfile
import torch
from torch.nn import functional
from torch.utils.data import DataLoader, IterableDataset

from assistant.evaluate.training import prompts
from assistant.evaluate.training.network import RANK, Whisper
from assistant.evaluate.training.score import Measured, cases, measure
from assistant.evaluate.training.sounds import RATE, Bank, Shop
from assistant.hearing.delta import Model

_WINDOWS: Final = ((4, 0.72), (6, 0.22), (8, 0.06))
_RATE_AT_MOST: Final = 6e-4
_WARMING: Final = 100
_DECAY: Final = 0.01
_NORM_AT_MOST: Final = 1.0
_NORMS_SHARE: Final = 0.5
_REFRESHED_S: Final = 75
_SHARES: Final = {"real": 0.3, "kokoro": 0.42, "piper": 0.1, "flite": 0.14, "festival": 0.02, "espeak": 0.02}


@dataclass
class Clips:
    """All clips at hand: their lines, and their sound (int16)."""

    lines: list[dict[str, Any]]
    sound: list[np.ndarray[Any, Any]]

    def add(self, path: Path, pool: ProcessPoolExecutor) -> None:
        """Read a packed file."""
        with np.load(path) as packed:
            lines = json.loads(str(packed["lines"]))
            ends = np.cumsum(packed["lengths"])
            blob = packed["blob"].tobytes()
        pieces = [blob[end - size : end] for end, size in zip(ends, np.diff(ends, prepend=0), strict=True)]
        for line in lines:
            line.setdefault("train", not line.get("held", False))
        self.lines += lines
        self.sound += pool.map(decoded, pieces, chunksize=64)


def decoded(blob: bytes) -> np.ndarray[Any, Any]:
    """Decode Opus in Ogg into int16."""
    samples, _ = soundfile.read(io.BytesIO(blob), dtype="int16")
    return samples


def with_talk(clips: Clips, rng: random.Random, count: int) -> None:
    """Add talk: phrases of one synthetic speaker one after the other, more than any command has."""
    by_speaker: dict[str, list[int]] = {}
    for number, line in enumerate(clips.lines):
        if line["train"] and line["part"] == "speech" and line["kind"] in {"phrase", "word"}:
            by_speaker.setdefault(line["speaker"], []).append(number)
    groups = [group for group in by_speaker.values() if len(group) > 20]  # noqa: PLR2004
    for _ in range(count if groups else 0):
        group = rng.choice(groups)
        pieces = [clips.sound[rng.choice(group)][: 3 * RATE] for _ in range(rng.randint(3, 7))]
        gaps = [np.zeros(rng.randint(0, RATE // 6), np.int16) for _ in pieces]
        clips.sound.append(np.concatenate([part for pair in zip(pieces, gaps, strict=True) for part in pair]))
        clips.lines.append(
            {"part": "talk", "text": "", "train": True, "speaker": "joined", "source": "joined"}
        )


class Plans(IterableDataset):  # type: ignore[type-arg]
    """Batches of plans without end: which clip, how, with which list, and what is to be written."""

    def __init__(
        self, clips: Clips, noises: Clips, words: prompts.Words, special: dict[str, int], size: int, seed: int
    ) -> None:
        self.words, self.special, self.size, self.seed = words, special, size, seed
        self.noise_lengths = [len(sound) for sound in noises.sound]
        # Generated and babble-like noises are many; a recorded machine is drawn more often than one of them.
        self.noise_weights = [3.0 if line["source"] != "generated" else 1.0 for line in noises.lines]
        self.lengths = [len(sound) for sound in clips.sound]
        self.texts = [line["text"] for line in clips.lines]
        self.groups: dict[str, list[int]] = {}
        self.talk = []
        for number, line in enumerate(clips.lines):
            if line["part"] == "talk":
                self.talk.append(number)
            if line["text"] and all(word in words.tokens for word in line["text"].split()):
                name = line["speaker"].split("-")[0]
                self.groups.setdefault(name if name in _SHARES else "real", []).append(number)

    def __iter__(self) -> Iterator[dict[str, torch.Tensor]]:
        worker = torch.utils.data.get_worker_info()
        rng = random.Random(f"{self.seed} {worker.id if worker else 0}")
        while True:
            window_s = rng.choices([w for w, _ in _WINDOWS], [s for _, s in _WINDOWS])[0]
            yield self._batch([self._one(window_s, rng) for _ in range(self.size)], window_s)

    def _spoken(self, window_s: int, rng: random.Random) -> int:
        names = [name for name in _SHARES if self.groups.get(name)]
        group = self.groups[rng.choices(names, [_SHARES[name] for name in names])[0]]
        for _ in range(50):
            number = rng.choice(group)
            if self.lengths[number] / RATE < window_s * 0.85:
                return number
        return min(group, key=self.lengths.__getitem__)

    def _one(self, window_s: int, rng: random.Random) -> dict[str, Any]:
        what = rng.random()
        plan = {
            "snr": self._snr(rng),
            "second": 0,
            "second_gain": 0.0,
            "loud": 1.0,
            "speed": rng.uniform(0.88, 1.13),
        }
        number, target, from_, take = self._spoken(window_s, rng), (), 0.0, None
        said = self.texts[number].split()
        if what < 0.6:
            prompt, target = prompts.positive(said, self.words, rng), said
        elif what < 0.8:
            prompt = prompts.negative(said, self.words, rng)
        elif what < 0.87:
            number = rng.choice(self.talk)
            take = min(self.lengths[number], round(rng.uniform(0.6, window_s) * RATE))
            from_ = rng.uniform(0, self.lengths[number] - take)
            prompt = prompts.other(self.words, rng)
            if self.texts[number] and not set(self.texts[number].split()) <= set(self.words.tokens):
                prompt = prompts.other(self.words, rng)
            elif self.texts[number]:
                prompt = prompts.negative(self.texts[number].split(), self.words, rng)
        elif what < 0.93:
            plan["loud"] = 0.0
            prompt = prompts.other(self.words, rng)
        elif what < 0.945 and len(said) == 1:
            take = round(self.lengths[number] * rng.uniform(0.3, 0.5))
            from_ = rng.choice((0.0, float(self.lengths[number] - take)))
            prompt = prompts.positive(said, self.words, rng)
        elif what < 0.955:
            plan |= {"second": self._spoken(window_s, rng), "second_gain": rng.uniform(0.7, 1.4)}
            prompt = prompts.positive(said, self.words, rng)
        else:
            prompt, target = [], said
        take = self.lengths[number] if take is None else take
        return (
            plan
            | self._placed(take, plan["speed"], window_s, rng)
            | {
                "clip": number,
                "from": from_,
                "take": take,
                "prompt": prompt,
                "target": [token for word in target for token in self.words.tokens[word]],
            }
            | self._noise(rng)
        )

    @staticmethod
    def _snr(rng: random.Random) -> float:
        return rng.uniform(-3, 24) if rng.random() < 0.75 else rng.uniform(24, 60)

    @staticmethod
    def _placed(take: int, speed: float, window_s: int, rng: random.Random) -> dict[str, Any]:
        room = max(0, window_s * RATE - take / speed)
        before = min(rng.uniform(0.02, 0.5) * RATE, room)
        after = rng.uniform(0.02, 0.7) * RATE
        is_cut = rng.random() < 0.65
        begin = before if is_cut else rng.uniform(0, room)
        return {"begin": begin, "before": before, "after": after, "cut": is_cut, "level": rng.uniform(-28, 0)}

    def _noise(self, rng: random.Random) -> dict[str, Any]:
        number = rng.choices(range(len(self.noise_lengths)), self.noise_weights)[0]
        return {
            "noise": number,
            "noise_at": rng.uniform(0, self.noise_lengths[number]),
            "noise_speed": rng.choice((1.0, rng.uniform(0.7, 1.4))),
        }

    def _batch(self, plans: list[dict[str, Any]], window_s: int) -> dict[str, torch.Tensor]:
        kinds = {"clip": torch.int64, "second": torch.int64, "noise": torch.int64, "cut": torch.bool}
        out = {
            name: torch.tensor([plan[name] for plan in plans], dtype=kinds.get(name, torch.float64))
            for name in plans[0]
            if name not in {"prompt", "target"}
        }
        rows = [sequence(plan["prompt"], plan["target"], self.special) for plan in plans]
        longest = max(len(tokens) for tokens, _ in rows)
        tokens = torch.zeros(len(rows), longest, dtype=torch.int64)
        wanted = torch.full((len(rows), longest), -100)
        for place, (row, after) in enumerate(rows):
            tokens[place, : len(row)] = torch.tensor(row)
            wanted[place, len(row) - len(after) : len(row)] = torch.tensor(after)
        return out | {"tokens": tokens, "wanted": wanted, "window": torch.tensor(window_s)}


def sequence(
    prompt: Sequence[int], target: Sequence[int], special: dict[str, int]
) -> tuple[list[int], list[int]]:
    """Give the tokens that the decoder sees, and what must follow the last of them."""
    start = [special[name] for name in ("startoftranscript", "en", "transcribe", "notimestamps")]
    before = [special["startofprev"], *prompt] if prompt else []
    return [*before, *start, *target], [*target, special["endoftext"]]


def loss_of(network: Whisper, shop: Shop, batch: dict[str, torch.Tensor]) -> torch.Tensor:
    """Make the sound of a batch and give the loss."""
    window_s = int(batch["window"])
    with torch.no_grad():
        mels = shop.mels(shop.windows(batch, window_s), varied=True)
    network.refresh()
    with torch.autocast(mels.device.type, torch.bfloat16, enabled=mels.is_cuda):
        hidden = network.decode(batch["tokens"], network.encode(mels))
        chosen = batch["wanted"] != -100  # noqa: PLR2004
        logits = network.logits(hidden[chosen])
    return functional.cross_entropy(logits.float(), batch["wanted"][chosen])


def rate(step: float, warming: float) -> float:
    """Give the learning rate at a share from 0 to 1 of the time: up quickly, then down a cosine."""
    return _RATE_AT_MOST * min(1.0, warming) * 0.5 * (1 + math.cos(math.pi * min(step, 1.0)))


@dataclass
class Run:
    """One run: what it was given, and what it has at hand."""

    args: argparse.Namespace
    network: Whisper
    words: prompts.Words
    special: dict[str, int]
    mels: np.ndarray[Any, Any]
    pool: ProcessPoolExecutor
    read: dict[Path, Clips] = field(default_factory=dict)

    def log(self, text: str) -> None:
        """Say and keep a line."""
        print(text, flush=True)
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


def gathered(run: Run, files: Sequence[Path]) -> tuple[Clips, Clips, Clips]:
    """Read what is packed: speech and talk for training, noise for training, and everything."""
    every = Clips([], [])
    for path in files:
        if path not in run.read:
            run.read[path] = Clips([], [])
            run.read[path].add(path, run.pool)
        every.lines += run.read[path].lines
        every.sound += run.read[path].sound
    rng = random.Random(run.args.seed)
    with_talk(every, rng, 600)
    pick = lambda test: Clips(
        *map(
            list,
            zip(
                *[(line, sound) for line, sound in zip(every.lines, every.sound, strict=True) if test(line)],
                strict=True,
            ),
        )
    )
    speech = pick(lambda line: line["train"] and line["part"] != "noise")
    noise = pick(lambda line: line["train"] and line["part"] == "noise")
    babble(noise, speech, rng, 30)
    return speech, noise, every


def babble(noise: Clips, speech: Clips, rng: random.Random, count: int) -> None:
    """Add babble: several stretches of talk laid over each other."""
    talk = [sound for line, sound in zip(speech.lines, speech.sound, strict=True) if line["part"] == "talk"]
    for _ in range(count):
        laid = sum(np.resize(rng.choice(talk).astype(np.float32), 8 * RATE) for _ in range(rng.randint(3, 7)))
        noise.sound.append((laid * (12_000 / max(1.0, float(np.abs(laid).max())))).astype(np.int16))
        noise.lines.append({"part": "noise", "text": "", "train": True, "speaker": "", "source": "generated"})


def train(run: Run) -> None:
    """Train for the time given; keep the delta every minute."""
    args, device = run.args, run.args.device
    plain = [value for key, value in run.network.delta.items() if key.endswith(":add")]
    factors = [value for key, value in run.network.delta.items() if not key.endswith(":add")]
    optimizer = torch.optim.AdamW(
        [{"params": factors, "share": 1.0}, {"params": plain, "share": _NORMS_SHARE}],
        lr=_RATE_AT_MOST,
        weight_decay=_DECAY,
        betas=(0.9, 0.98),
        fused=device == "cuda",
    )
    started, step, skipped, kept_at, measured_at = time.monotonic(), 0, 0, 0.0, args.measure_every
    total, files, cases_at_hand = args.minutes * 60, [], None
    losses: list[float] = []
    norms: list[float] = []
    while (passed := time.monotonic() - started) < total and step < args.steps:
        found = sorted({*args.data.glob("*.npz"), *(args.more.glob("*.npz") if args.more else ())})
        found = [path for path in found if path.name not in {"words.npz", "base.npz"}]
        if found != files:
            files = found
            speech, noise, every = gathered(run, files)
            shop = Shop(
                Bank.of(speech.sound, device),
                Bank.of(noise.sound, device),
                run.mels,
                device,
                args.seed + step,
            )
            run.log(f"{passed:.0f} s: {len(speech.sound)} clips to train on, {len(noise.sound)} noises")
        if cases_at_hand is None and any(line["speaker"].startswith("kokoro") for line in every.lines):
            cases_at_hand = cases(every.lines, every.sound, args.eval, args.seed)
        plans = Plans(speech, noise, run.words, run.special, args.batch, args.seed + 1000 * step)
        loader = iter(
            DataLoader(
                plans,
                batch_size=None,
                num_workers=args.workers,
                pin_memory=device == "cuda",
                prefetch_factor=6 if args.workers else None,
            )
        )
        refreshed = time.monotonic()
        while (passed := time.monotonic() - started) < total and step < args.steps:
            if time.monotonic() - refreshed > _REFRESHED_S and args.more:
                break
            batch = {name: value.to(device, non_blocking=True) for name, value in next(loader).items()}
            for group in optimizer.param_groups:
                group["lr"] = group["share"] * rate(passed / total, step / _WARMING) * args.rate
            loss = loss_of(run.network, shop, batch)
            optimizer.zero_grad(set_to_none=True)
            loss.backward()
            norm = torch.nn.utils.clip_grad_norm_(run.network.delta.values(), _NORM_AT_MOST)
            if torch.isfinite(norm):
                optimizer.step()
            else:
                skipped += 1
            step += 1
            if step % 20 == 0:
                losses.append(float(loss))
                norms.append(float(norm))
            if step % 200 == 0 or step == args.steps:
                run.log(
                    f"{passed:.0f} s, step {step}: loss {np.mean(losses[-10:] or [float(loss)]):.3f}, norm {np.mean(norms[-10:] or [float(norm)]):.2f}, "
                    f"skipped {skipped}"
                )
            if passed - kept_at > 60:  # noqa: PLR2004
                kept_at = passed
                np.savez(args.out / "delta.npz", **run.network.kept())
            if passed > measured_at and cases_at_hand:
                measured_at = passed + args.measure_every
                told(run, measure(run.network, cases_at_hand, run, snrs=(None, 5), most=60), "held out")
        del loader
    np.savez(args.out / "delta.npz", **run.network.kept())
    run.log(f"ended after {time.monotonic() - started:.0f} s and {step} steps")
    _, _, every = gathered(run, files)
    cases_at_hand = cases_at_hand or cases(every.lines, every.sound, args.eval, args.seed)
    told(run, measure(run.network, cases_at_hand, run, snrs=(None, 10, 5, 0), most=args.eval), "at the end")


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
        train(Run(args, network, prompts.Words(**about), special, mels, pool))


if __name__ == "__main__":
    main()
