"""Train the delta: minutes on one GPU, with measuring on what is held out as it goes.

Of ten windows about six say what the list allows, two lack a word in the list (often with words that sound
near in it), the others are talk, noise, words cut in half, two speakers at once, or have no list.
"""

import argparse
import io
import json
import math
import random
import sys
import time
from collections.abc import Callable, Iterator, Sequence
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
from assistant.evaluate.training.score import IGNORED, Measured, cases, measure
from assistant.evaluate.training.sounds import RATE, Bank, Shop
from assistant.hearing.delta import ADD, Model

_WINDOWS: Final = ((4, 0.72), (6, 0.22), (8, 0.06))
_RATE_AT_MOST: Final = 6e-4
_WARMING: Final = 100
_DECAY: Final = 0.01
_NORM_AT_MOST: Final = 1.0
_KINDS: Final = (
    ("listed", 0.66),
    ("lacking", 0.16),
    ("talk", 0.07),
    ("bare", 0.055),
    ("halved", 0.012),
    ("two", 0.005),
    ("unlisted", 0.038),
)
"""What a window holds, and its share: methods of Plans."""
_TIGHT: Final = 0.2  # of the clips are cut very tightly, as some recordings are
_TEST_FILES: Final = {"words.npz", "base.npz"}
HELD: Final = frozenset(f"kokoro-{voice}" for voice in ("af_nova", "am_eric", "bf_lily", "zm_yunxi"))
"""Voices that are never trained on."""
_NORMS_SHARE: Final = 0.5
_REFRESHED_S: Final = 75
_KEPT_S: Final = 60
_SHOWN_EVERY: Final = 100
_SHARES: Final = {"real": 0.34, "kokoro": 0.26, "piper": 0.16, "flite": 0.2, "festival": 0.02, "espeak": 0.02}


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

    def those(self, test: Callable[[dict[str, Any]], bool]) -> "Clips":
        """Give the clips whose lines pass."""
        kept = [place for place, line in enumerate(self.lines) if test(line)]
        return Clips([self.lines[place] for place in kept], [self.sound[place] for place in kept])


def decoded(blob: bytes) -> np.ndarray[Any, Any]:
    """Decode Opus in Ogg into int16."""
    samples, _ = soundfile.read(io.BytesIO(blob), dtype="int16")
    return np.asarray(samples)


def with_talk(clips: Clips, rng: random.Random, count: int) -> None:
    """Add talk: phrases of one synthetic speaker one after the other, more than any command has."""
    by_speaker: dict[str, list[int]] = {}
    for number, line in enumerate(clips.lines):
        if line["train"] and line["part"] == "speech" and line["kind"] in {"phrase", "word"}:
            by_speaker.setdefault(line["speaker"], []).append(number)
    groups = [group for group in by_speaker.values() if len(group) > 20]
    for _ in range(count if groups else 0):
        group = rng.choice(groups)
        pieces = [clips.sound[rng.choice(group)][: 3 * RATE] for _ in range(rng.randint(3, 7))]
        gaps = [np.zeros(rng.randint(0, RATE // 6), np.int16) for _ in pieces]
        clips.sound.append(np.concatenate([part for pair in zip(pieces, gaps, strict=True) for part in pair]))
        clips.lines.append(
            {"part": "talk", "text": "", "train": True, "speaker": "joined", "source": "joined"}
        )


def with_spliced(clips: Clips, rng: random.Random, count: int) -> None:
    """Add phrases spliced from single words, as recorded prompts are: of one synthetic voice, or of real people."""
    by_speaker: dict[str, list[int]] = {}
    for number, line in enumerate(clips.lines):
        if line["train"] and line["part"] == "speech" and line["text"] and " " not in line["text"]:
            name = line["speaker"] if line["speaker"].split("-")[0] in _SHARES else "real"
            by_speaker.setdefault(name, []).append(number)
    names = [name for name, group in by_speaker.items() if len(group) > 100]
    for _ in range(count if names else 0):
        name = "real" if "real" in names and rng.random() < 0.4 else rng.choice(names)
        chosen = [rng.choice(by_speaker[name]) for _ in range(rng.choice((2, 2, 3, 3, 4)))]
        pieces = [
            part
            for number in chosen
            for part in (tight(clips.sound[number]), np.zeros(round(rng.uniform(0, 0.08) * RATE), np.int16))
        ]
        clips.sound.append(np.concatenate(pieces))
        text = " ".join(clips.lines[number]["text"] for number in chosen)
        clips.lines.append(
            {
                "part": "speech",
                "text": text,
                "train": True,
                "speaker": name,
                "source": "joined",
                "kind": "spliced",
            }
        )


def tight(sound: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """Cut a word out tightly, at an even level."""
    frames = len(sound) // 160
    power = np.square(sound[: frames * 160].reshape(frames, 160).astype(np.float32)).mean(1)
    loud = np.flatnonzero(power > 0.003 * power.max())
    kept = sound[max(0, loud[0] - 2) * 160 : (loud[-1] + 3) * 160]
    return np.asarray((kept * (12_000 / max(1, np.abs(kept.astype(np.int32)).max()))).astype(np.int16))


class Plans(IterableDataset):  # type: ignore[misc]
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
        number = self._spoken(window_s, rng)
        plan: dict[str, Any] = {
            "clip": number,
            "from": 0.0,
            "take": self.lengths[number],
            "prompt": [],
            "target": (),
            "loud": 1.0,
            "snr": self._snr(rng),
            "second": 0,
            "second_gain": 0.0,
            "speed": rng.uniform(0.88, 1.13),
        }
        if rng.random() < _TIGHT:
            edge = round(rng.uniform(0, 0.025) * RATE)
            plan |= {"from": float(edge), "take": plan["take"] - 2 * edge}
        kind = rng.choices([kind for kind, _ in _KINDS], [share for _, share in _KINDS])[0]
        plan |= getattr(self, f"_{kind}")(number, window_s, rng)
        plan["target"] = [token for word in plan["target"] for token in self.words.tokens[word]]
        return plan | self._placed(plan["take"], plan["speed"], window_s, rng) | self._noise(rng)

    def _listed(self, number: int, _window_s: int, rng: random.Random) -> dict[str, Any]:
        said = self.texts[number].split()
        return {"prompt": prompts.positive(said, self.words, rng), "target": said}

    def _lacking(self, number: int, _window_s: int, rng: random.Random) -> dict[str, Any]:
        return {"prompt": prompts.negative(self.texts[number].split(), self.words, rng)}

    def _talk(self, _number: int, window_s: int, rng: random.Random) -> dict[str, Any]:
        number = rng.choice(self.talk)
        said = self.texts[number].split()
        take = min(self.lengths[number], round(rng.uniform(0.6, window_s) * RATE))
        known = said and set(said) <= set(self.words.tokens)
        prompt = prompts.negative(said, self.words, rng) if known else prompts.other(self.words, rng)
        return {
            "clip": number,
            "take": take,
            "from": rng.uniform(0, self.lengths[number] - take),
            "prompt": prompt,
        }

    def _bare(self, _number: int, _window_s: int, rng: random.Random) -> dict[str, Any]:
        return {"loud": 0.0, "prompt": prompts.other(self.words, rng)}

    def _halved(self, number: int, window_s: int, rng: random.Random) -> dict[str, Any]:
        if " " in self.texts[number]:
            return self._listed(number, window_s, rng)
        take = round(self.lengths[number] * rng.uniform(0.3, 0.5))
        start = rng.choice((0.0, float(self.lengths[number] - take)))
        return {
            "take": take,
            "from": start,
            "prompt": prompts.positive([self.texts[number]], self.words, rng),
        }

    def _two(self, number: int, window_s: int, rng: random.Random) -> dict[str, Any]:
        prompt = prompts.positive(self.texts[number].split(), self.words, rng)
        return {"second": self._spoken(window_s, rng), "second_gain": rng.uniform(0.7, 1.4), "prompt": prompt}

    def _unlisted(self, number: int, _window_s: int, _rng: random.Random) -> dict[str, Any]:
        return {"target": self.texts[number].split()}

    @staticmethod
    def _snr(rng: random.Random) -> float:
        return rng.uniform(-5, 22) if rng.random() < 0.8 else rng.uniform(22, 60)

    @staticmethod
    def _placed(take: int, speed: float, window_s: int, rng: random.Random) -> dict[str, Any]:
        room = max(0, window_s * RATE - take / speed)
        before = min(rng.uniform(0.02, 0.5) * RATE, room)
        after = rng.uniform(0.02, 0.7) * RATE
        if rng.random() < 0.2:
            before, after = min(before, 0.02 * RATE), rng.uniform(0, 0.02) * RATE
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
        wanted = torch.full((len(rows), longest), IGNORED)
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
        chosen = batch["wanted"] != IGNORED
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
    known = set(run.words.words)
    for line in every.lines:
        if line["source"].startswith("Kokoro"):
            line["train"] = line["speaker"] not in HELD and set(line["text"].split()) <= known
    with_talk(every, rng, 600)
    with_spliced(every, rng, 2500)
    speech = every.those(lambda line: line["train"] and line["part"] != "noise")
    noise = every.those(lambda line: line["train"] and line["part"] == "noise")
    babble(noise, speech, rng, 30)
    return speech, noise, every


def babble(noise: Clips, speech: Clips, rng: random.Random, count: int) -> None:
    """Add babble: several stretches of talk laid over each other."""
    talk = [sound for line, sound in zip(speech.lines, speech.sound, strict=True) if line["part"] == "talk"]
    for _ in range(count):
        laid: Any = sum(
            np.resize(rng.choice(talk).astype(np.float32), 8 * RATE) for _ in range(rng.randint(3, 7))
        )
        noise.sound.append((laid * (12_000 / max(1.0, float(np.abs(laid).max())))).astype(np.int16))
        noise.lines.append({"part": "noise", "text": "", "train": True, "speaker": "", "source": "generated"})


class Trainer:
    """Trains for the time given; keeps the delta every minute, and measures now and then."""

    def __init__(self, run: Run) -> None:
        self.run, self.args = run, run.args
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
        self.run.log(f"ended after {self._passed:.0f} s and {self.step} steps")
        told(
            self.run, measure(self.run, self.cases, snrs=(None, 10, 5, 0), most=self.args.eval), "at the end"
        )

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
        self.speech, self.noise, every = gathered(self.run, found)
        speech, noise = (Bank.of(clips.sound, args.device) for clips in (self.speech, self.noise))
        self.shop = Shop(speech, noise, self.run.mels, args.device, args.seed + self.step)
        if first:
            self.cases = cases(every.lines, every.sound, args.eval, args.seed)
        self.run.log(f"{self._passed:.0f} s: {len(self.speech.sound)} clips, {len(self.noise.sound)} noises")

    def _stretch(self) -> None:
        """Train until it is time to see what has come."""
        args, run = self.args, self.run
        plans = Plans(
            self.speech, self.noise, run.words, run.special, args.batch, args.seed + 1000 * self.step
        )
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
        loss = loss_of(self.run.network, self.shop, batch)
        self.optimizer.zero_grad(set_to_none=True)
        loss.backward()
        norm = torch.nn.utils.clip_grad_norm_(self.run.network.delta.values(), _NORM_AT_MOST)
        if torch.isfinite(norm):
            self.optimizer.step()
        else:
            self.skipped += 1
        self.step += 1
        if self.step % _SHOWN_EVERY == 0:
            self.losses.append(loss.item())
            self.run.log(
                f"{self._passed:.0f} s, step {self.step}: loss {np.mean(self.losses[-5:]):.3f}, "
                f"norm {norm.item():.2f}, skipped {self.skipped}"
            )

    def _keep(self) -> None:
        kept: dict[str, Any] = self.run.network.kept()
        np.savez(self.args.out / "delta.npz", **kept)

    def _now_and_then(self) -> None:
        if self._passed - self.kept_at > _KEPT_S:
            self.kept_at = self._passed
            self._keep()
        if self._passed > self.measured_at:
            self.measured_at = self._passed + self.args.measure_every
            told(self.run, measure(self.run, self.cases, snrs=(None, 5), most=60), "held out")


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
        Trainer(Run(args, network, prompts.Words(**about), special, mels, pool)).train()


if __name__ == "__main__":
    main()
