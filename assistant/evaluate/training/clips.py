"""The clips that are trained on: read as packed, and made more by joining, splicing and laying over each other."""

import io
import json
import random
from collections.abc import Callable, Collection
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import soundfile

from assistant.evaluate.training.sounds import RATE

SHARES: Final = {"real": 0.34, "kokoro": 0.26, "piper": 0.16, "flite": 0.2, "festival": 0.02, "espeak": 0.02}
"""How often a synthesiser's voices, or real people, are heard in training."""
HELD: Final = frozenset(f"kokoro-{voice}" for voice in ("af_nova", "am_eric", "bf_lily", "zm_yunxi"))
"""Voices that are never trained on."""


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
            name = line["speaker"] if line["speaker"].split("-")[0] in SHARES else "real"
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


def gathered(every: Clips, known: Collection[str], seed: int) -> tuple[Clips, Clips, Clips]:
    """Make more of what was read, and give speech and talk for training, noise for training, and everything.

    A line of a synthetic voice is trained on where all its words are `known`, and its voice is not held out.
    """
    rng, known = random.Random(seed), set(known)
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
