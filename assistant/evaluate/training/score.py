"""Measuring during the training, on what is held out: every phrase of a closed list is scored exactly.

Three sets: real speakers that were not trained on, with all short phrases of theirs as the list; synthetic
voices that were not, each with a list of 60 commands; and the same voices with lists of 25 phrases that have
words that were not. Talk and noise are scored against the first list.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import torch

from assistant.evaluate.training.network import Whisper
from assistant.evaluate.training.sounds import RATE, Bank, Shop

if TYPE_CHECKING:
    from assistant.evaluate.training.train import Run

_WINDOW_S: Final = 4
_LIMITS: Final = (-0.5, -1.2, -2.5)


@dataclass
class Cases:
    """What is heard, by name of the set: sound, what was said (or nothing), and the list."""

    sound: dict[str, list[np.ndarray[Any, Any]]]
    said: dict[str, list[str]]
    lists: dict[str, list[list[str]]]
    noise: list[np.ndarray[Any, Any]]


@dataclass(frozen=True)
class Measured:
    """One set at one ratio: shares in per cent; `taken` is right/wrong above each limit of the score."""

    name: str
    snr: float | None
    count: int
    right: float
    taken: tuple[tuple[float, float], ...]
    empty: float

    def __str__(self) -> str:
        limits = ", ".join(
            f"> {limit}: {right:.1f}/{wrong:.1f}"
            for limit, (right, wrong) in zip(_LIMITS, self.taken, strict=True)
        )
        return (
            f"{self.name} at {'-' if self.snr is None else self.snr} dB (n {self.count}): right {self.right:.1f}; "
            f"{limits}; nothing is likelier {self.empty:.1f}"
        )


def cases(
    lines: Sequence[dict[str, Any]], sound: Sequence[np.ndarray[Any, Any]], most: int, seed: int
) -> Cases:
    """Choose what is heard."""
    rng = random.Random(seed)
    out = Cases({}, {}, {}, [])
    held = [(line, clip) for line, clip in zip(lines, sound, strict=True) if not line["train"]]
    real = sorted({line["text"] for line in lines if line["part"] == "speech" and is_real(line)})
    speech = [pair for pair in held if pair[0]["part"] == "speech" and len(pair[1]) < _WINDOW_S * RATE]
    commands = [text for text in sorted({line["text"] for line in lines if line.get("kind") == "command"})]
    for name, test in (
        ("real", is_real),
        ("real free", lambda line: is_real(line) and line["licence"].startswith("CC BY 4")),
        ("voices", lambda line: line["kind"] == "command" and not is_real(line)),
        ("new words", lambda line: line["kind"] != "command" and not is_real(line)),
    ):
        found = [pair for pair in speech if test(pair[0])]
        found = rng.sample(found, min(most, len(found)))
        texts = sorted({line["text"] for line, _ in found})
        out.sound[name] = [clip for _, clip in found]
        out.said[name] = [line["text"] for line, _ in found]
        others = {"voices": commands, "new words": texts}.get(name)
        size = 60 if name == "voices" else 25
        out.lists[name] = [
            real if others is None else sorted({said, *rng.sample(others, min(size, len(others)))})
            for said in out.said[name]
        ]
        if name == "new words":
            out.sound["not listed"], out.said["not listed"] = out.sound[name], [""] * len(found)
            out.lists["not listed"] = [
                [
                    text
                    for text in phrases
                    if not set(said.split()) <= set(" ".join(phrases).split()) - {said}
                ][:24]
                if False
                else [text for text in phrases if text != said]
                for said, phrases in zip(out.said[name], out.lists[name], strict=True)
            ]
    for part in ("talk", "noise"):
        clips = [clip for line, clip in held if line["part"] == part and is_real(line)]
        pieces = [
            clip[at : at + 3 * RATE] for clip in clips for at in range(0, max(1, len(clip) - RATE), 3 * RATE)
        ]
        out.sound[part] = rng.sample(pieces, min(most, len(pieces)))
        out.said[part] = [""] * len(out.sound[part])
        out.lists[part] = [real] * len(out.sound[part])
        if part == "noise":
            out.noise = clips
    return out


def is_real(line: dict[str, Any]) -> bool:
    """Tell whether a clip is a recording."""
    return not line["source"].startswith(("synthetic", "Kokoro", "joined", "generated"))


@torch.no_grad()
def measure(
    network: Whisper, given: Cases, run: "Run", *, snrs: Sequence[float | None], most: int
) -> list[Measured]:
    """Measure all sets at these ratios; talk and noise as they are."""
    network.refresh()
    device = run.args.device
    out = []
    for name, sound in given.sound.items():
        shop = Shop(Bank.of(sound, device), Bank.of(given.noise, device), run.mels, device, 1)
        for snr in snrs if name not in {"talk", "noise", "not listed"} else (None,):
            scores = [
                _scored(network, shop, number, given.lists[name][number], snr, run, given)
                for number in range(min(most, len(sound)))
            ]
            out.append(_told(name, snr, scores, given.said[name]))
    return out


def _told(name: str, snr: float | None, scores: list[tuple[str, float, float]], said: list[str]) -> Measured:
    right = np.array([best == wanted for (best, _, _), wanted in zip(scores, said, strict=False)])
    best = np.array([score for _, score, _ in scores])
    empty = np.array([score for _, _, score in scores])
    taken = tuple(
        (100 * float(np.mean(right & (best > limit))), 100 * float(np.mean(~right & (best > limit))))
        for limit in _LIMITS
    )
    return Measured(
        name, snr, len(scores), 100 * float(right.mean()), taken, 100 * float((empty > best).mean())
    )


def _scored(
    network: Whisper, shop: Shop, number: int, phrases: list[str], snr: float | None, run: "Run", given: Cases
) -> tuple[str, float, float]:
    """Give the best phrase, its log probability, and that of nothing."""
    device, rng = run.args.device, random.Random(number)
    length = len(given.sound["real"][0])
    length = int(shop.speech.lengths[number])
    noise = rng.randrange(len(given.noise))
    plan = {
        "clip": number,
        "noise": noise,
        "from": 0.0,
        "take": length,
        "speed": 1.0,
        "begin": 1600.0,
        "before": 1600.0,
        "after": 3200.0,
        "cut": True,
        "level": -20.0,
        "snr": 90.0 if snr is None else snr,
        "loud": 1.0,
        "noise_at": rng.uniform(0, len(given.noise[noise])),
        "noise_speed": 1.0,
    }
    kinds = {"clip": torch.int64, "noise": torch.int64, "cut": torch.bool}
    batch = {
        key: torch.tensor([value], dtype=kinds.get(key, torch.float64), device=device)
        for key, value in plan.items()
    }
    words = run.words
    first, rest = (
        {text.split()[0] for text in phrases},
        {word for text in phrases for word in text.split()[1:]},
    )
    listed = [token for word in (*sorted(first), *sorted(rest - first)) for token in tokens_of(word, words)]
    start = [run.special[name] for name in ("startoftranscript", "en", "transcribe", "notimestamps")]
    before = [*([run.special["startofprev"], *listed] if len(listed) <= 200 else []), *start]  # noqa: PLR2004
    rows = [
        [*before, *(token for word in text.split() for token in tokens_of(word, words))]
        for text in ["", *phrases]
    ]
    longest = max(map(len, rows))
    tokens = torch.tensor([row + [0] * (longest - len(row)) for row in rows], device=device)
    wanted = torch.full((len(rows), longest), -100)
    for place, row in enumerate(rows):
        after = [*row[len(before) :], run.special["endoftext"]]
        wanted[place, len(before) - 1 : len(row)] = torch.tensor(after)
    wanted = wanted.to(device)
    with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
        sound = network.encode(shop.mels(shop.windows(batch, _WINDOW_S, plain=True)))
        hidden = network.decode(tokens, sound.expand(len(rows), -1, -1))
        chosen = wanted != -100  # noqa: PLR2004
        logs = network.logits(hidden[chosen]).float().log_softmax(-1)
    found = logs.gather(1, wanted[chosen][:, None])[:, 0]
    scores = torch.zeros(len(rows), device=device).index_add_(0, chosen.nonzero()[:, 0], found).tolist()
    place = int(np.argmax(scores[1:]))
    return phrases[place], scores[1 + place], scores[0]


def tokens_of(word: str, words: Any) -> Sequence[int]:
    """Give a word's tokens; those of words of the measuring alone are looked up as well."""
    return words.tokens.get(word, ())
