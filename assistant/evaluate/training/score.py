"""Measuring during the training, on what is held out: every phrase of a closed list is scored exactly.

Three sets: real speakers that were not trained on, with all short phrases of theirs as the list; synthetic
voices that were not, each with a list of 60 commands; and the same voices with lists of 25 phrases that have
words that were not.
"""

import random
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import torch
from torch.nn import functional

from assistant.evaluate.training.clips import Clips
from assistant.evaluate.training.sounds import RATE, Bank, Shop
from assistant.evaluate.training.spelling import IGNORED, spelled

if TYPE_CHECKING:
    from assistant.evaluate.training.train import Run

_WINDOW_S: Final = 4
_NO_NOISE_DB: Final = 90.0
_SOUNDS: Final = 0.3
"""What counts a score by the sounds against one by the words, as in the engine."""
_WRONG: Final = 0.01
"""The share that may be wrong where it is asked how many are right."""


@dataclass
class Cases:
    """What is heard, by name of the set: sound, what was said (or nothing), and the list."""

    sound: dict[str, list[np.ndarray[Any, Any]]]
    said: dict[str, list[str]]
    lists: dict[str, list[list[str]]]
    noise: list[np.ndarray[Any, Any]]


@dataclass(frozen=True)
class Heard:
    """The log probabilities of nothing and of each phrase of a list, (1 + phrases,): by words and by sounds."""

    words: np.ndarray[Any, Any]
    sounds: np.ndarray[Any, Any]

    @property
    def both(self) -> np.ndarray[Any, Any]:
        """By both together."""
        return np.asarray(self.words + _SOUNDS * self.sounds)


@dataclass(frozen=True)
class Measured:
    """One set at one ratio, in per cent: how often the best phrase is right by words, by sounds and by both.

    `taken` is how many are right where those are taken that are farthest ahead, and a hundredth is wrong.
    """

    name: str
    snr: float | None
    count: int
    words: float
    sounds: float
    both: float
    taken: float

    def __str__(self) -> str:
        return (
            f"{self.name} at {'-' if self.snr is None else self.snr} dB (n {self.count}): right {self.words:.1f} by "
            f"words, {self.sounds:.1f} by sounds, {self.both:.1f} by both; {self.taken:.1f} taken"
        )


def cases(clips: Clips, known: Collection[str], most: int, seed: int) -> Cases:
    """Choose what is heard, of what has only words whose sounds are `known`."""
    rng = random.Random(seed)
    out = Cases({}, {}, {}, [])
    words = set(known)
    pairs = [
        (line, clip)
        for line, clip in zip(clips.lines, clips.sound, strict=True)
        if set(line["text"].split()) <= words
    ]
    real = sorted({line["text"] for line, _ in pairs if line["part"] == "speech" and is_real(line)})
    commands = sorted({line["text"] for line, _ in pairs if line.get("kind") == "command"})
    held = [pair for pair in pairs if not pair[0]["train"]]
    speech = [pair for pair in held if pair[0]["part"] == "speech" and len(pair[1]) < _WINDOW_S * RATE]
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
    out.noise = [clip for line, clip in held if line["part"] == "noise" and is_real(line)]
    return out


def is_real(line: dict[str, Any]) -> bool:
    """Tell whether a clip is a recording."""
    return not line["source"].startswith(("synthetic", "Kokoro", "joined", "generated"))


@torch.no_grad()  # type: ignore[untyped-decorator]
def measure(run: "Run", given: Cases, *, snrs: Sequence[float | None], most: int) -> list[Measured]:
    """Measure all sets at these ratios."""
    run.network.refresh()
    device = run.args.device
    out = []
    for name, sound in given.sound.items():
        if not sound:
            continue
        shop = Shop(Bank.of(sound, device), Bank.of(given.noise, device), run.mels, device, 1)
        for snr in snrs:
            heard = [_heard(run, shop, given, name, (number, snr)) for number in range(min(most, len(sound)))]
            out.append(_told(name, snr, heard, given))
    return out


def _told(name: str, snr: float | None, heard: list[Heard], given: Cases) -> Measured:
    pairs = zip(given.said[name], given.lists[name], strict=True)
    wanted = [phrases.index(said) for said, phrases in pairs][: len(heard)]
    rights = (
        _right([h.words for h in heard], wanted),
        _right([h.sounds for h in heard], wanted),
        _right([h.both for h in heard], wanted),
    )
    return Measured(name, snr, len(heard), *rights, _taken([h.both for h in heard], wanted))


def _right(scores: Sequence[np.ndarray[Any, Any]], wanted: Sequence[int]) -> float:
    """Give how often the best phrase is the right one, in per cent."""
    found = (each[1:].argmax() == place for each, place in zip(scores, wanted, strict=True))
    return 100 * float(np.mean([*found]))


def _taken(scores: Sequence[np.ndarray[Any, Any]], wanted: Sequence[int]) -> float:
    """Give how many are right, in per cent, where the surest are taken until a hundredth of all is wrong."""
    ahead = [np.sort(each)[-1] - np.sort(each)[-2] if each.argmax() else -1.0 for each in scores]
    right = wrong = 0
    for place in np.argsort(ahead)[::-1]:
        if ahead[place] < 0 or wrong > _WRONG * len(scores):
            break
        is_right = scores[place][1:].argmax() == wanted[place]
        right, wrong = right + is_right, wrong + (not is_right)
    return 100 * right / len(scores)


def _heard(run: "Run", shop: Shop, given: Cases, name: str, case: tuple[int, float | None]) -> Heard:
    """Score nothing and every phrase of the case's list."""
    phrases, network, device = given.lists[name][case[0]], run.network, run.args.device
    with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
        windows = shop.windows(_plan(shop, given, *case), _WINDOW_S, plain=True)
        sound = network.encode(shop.mels(windows))
        words = _spelled(run, sound, phrases)
        logs = network.sounds(sound)
    return Heard(words, _sounded(run, logs, phrases))


def _spelled(run: "Run", sound: torch.Tensor, phrases: Sequence[str]) -> np.ndarray[Any, Any]:
    device = run.args.device
    known = run.words.tokens
    targets = [[token for word in text.split() for token in known[word]] for text in ("", *phrases)]
    tokens, wanted = (tensor.to(device) for tensor in spelled(targets, run.special))
    hidden = run.network.decode(tokens, sound.expand(len(tokens), -1, -1))
    chosen = wanted != IGNORED
    logs = run.network.logits(hidden[chosen]).float().log_softmax(-1)
    found = logs.gather(1, wanted[chosen][:, None])[:, 0]
    scores = torch.zeros(len(tokens), device=device).index_add_(0, chosen.nonzero()[:, 0], found)
    return np.asarray(scores.cpu().numpy())


def _sounded(run: "Run", logs: torch.Tensor, phrases: Sequence[str]) -> np.ndarray[Any, Any]:
    rows = [[sound for word in text.split() for sound in run.words.sounds[word]] for text in ("", *phrases)]
    longest = max(map(len, rows))
    wanted = torch.tensor([row + [0] * (longest - len(row)) for row in rows])
    counts = torch.tensor([*map(len, rows)])
    frames = torch.full_like(counts, logs.shape[1])
    every = logs.cpu().transpose(0, 1).expand(-1, len(rows), -1)
    return -np.asarray(functional.ctc_loss(every, wanted, frames, counts, reduction="none").numpy())


def _plan(shop: Shop, given: Cases, number: int, snr: float | None) -> dict[str, torch.Tensor]:
    """Plan one clip cut out with a little before and after it, with a noise of the held-out ones."""
    rng = random.Random(number)
    noise = rng.randrange(len(given.noise))
    plan = {
        "clip": number,
        "noise": noise,
        "from": 0.0,
        "take": int(shop.speech.lengths[number]),
        "speed": 1.0,
        "begin": 1600.0,
        "before": 1600.0,
        "after": 3200.0,
        "cut": True,
        "level": -20.0,
        "loud": 1.0,
        "snr": _NO_NOISE_DB if snr is None else snr,
        "noise_at": rng.uniform(0, len(given.noise[noise])),
        "noise_speed": 1.0,
    }
    kinds = {"clip": torch.int64, "noise": torch.int64, "cut": torch.bool}
    return {
        key: torch.tensor([value], dtype=kinds.get(key, torch.float64), device=shop.device)
        for key, value in plan.items()
    }
