"""What each window of the training holds, drawn at random.

Of ten windows eight hold a saying, which is to be spelled as it is; the others a piece of talk, noise, half a word or
two speakers at once, and there nothing at all is to be written.
"""

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import torch
from torch.utils.data import IterableDataset

from assistant.evaluate.training.clips import SHARES, Clips
from assistant.evaluate.training.sounds import RATE
from assistant.evaluate.training.spelling import spelled

_WINDOWS: Final = ((2, 0.2), (3, 0.26), (4, 0.3), (6, 0.19), (8, 0.05))
_KINDS: Final = (("saying", 0.83), ("talk", 0.08), ("bare", 0.07), ("halved", 0.012), ("two", 0.008))
"""What a window holds, and its share: methods of Plans."""
_TIGHT: Final = 0.3  # of the clips are cut very tightly, as some recordings are
_TALK_S: Final = 4  # talk that lasts longer is given in pieces, and nobody knows what is said in a piece
_PIECE_S: Final = 1.4  # at least, since a shorter piece may hold no more than a word
_PIECE: Final = 0.7  # of the talk, at most
_BESIDE: Final = 0.35  # of the windows have a second noise
UNKNOWN: Final = -1
"""How many sounds there are where nobody knows what is heard in a window."""


@dataclass(frozen=True)
class Words:
    """What is known of words: their tokens, their sounds as numbers of the head's classes, and which are trained on."""

    tokens: Mapping[str, Sequence[int]]
    sounds: Mapping[str, Sequence[int]]
    words: Sequence[str]


@dataclass(frozen=True)
class Setting:
    """How batches are planned: tokens to start and end with, windows in a batch, seed, share of real people."""

    special: dict[str, int]
    size: int
    seed: int
    real: float


class Plans(IterableDataset):  # type: ignore[misc]
    """Batches of plans without end: which clip, how, what is to be written, and its sounds."""

    def __init__(self, clips: Clips, noises: Clips, words: Words, setting: Setting) -> None:
        self.words, self.special, self.size, self.seed = words, setting.special, setting.size, setting.seed
        rest = (1 - setting.real) / (1 - SHARES["real"])
        self.shares = {
            name: setting.real if name == "real" else share * rest for name, share in SHARES.items()
        }
        self.noise_lengths = [len(sound) for sound in noises.sound]
        # Generated and babble-like noises are many; a recorded machine is drawn more often than one of them.
        self.noise_weights = [3.0 if line["source"] != "generated" else 1.0 for line in noises.lines]
        self.lengths = [len(sound) for sound in clips.sound]
        self.texts = [line["text"] for line in clips.lines]
        self.groups: dict[str, list[int]] = {}
        self.talk = []
        for number, line in enumerate(clips.lines):
            is_known = line["text"] and all(word in words.tokens for word in line["text"].split())
            if line["part"] == "talk" and (not is_known or self.lengths[number] > _TALK_S * RATE):
                self.talk.append(number)
            if is_known:
                name = line["speaker"].split("-")[0]
                self.groups.setdefault(name if name in SHARES else "real", []).append(number)

    def __iter__(self) -> Iterator[dict[str, torch.Tensor]]:
        worker = torch.utils.data.get_worker_info()
        rng = random.Random(f"{self.seed} {worker.id if worker else 0}")
        while True:
            window_s = rng.choices([w for w, _ in _WINDOWS], [s for _, s in _WINDOWS])[0]
            yield self._batch([self._one(window_s, rng) for _ in range(self.size)], window_s)

    def _spoken(self, window_s: int, rng: random.Random) -> int:
        names = [name for name in self.shares if self.groups.get(name)]
        group = self.groups[rng.choices(names, [self.shares[name] for name in names])[0]]
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
            "target": (),
            "heard": self._sounds(number),
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

    def _sounds(self, number: int) -> list[int] | None:
        """Give the sounds of a clip; None where a word is not known."""
        said = self.texts[number].split()
        if not all(word in self.words.sounds for word in said):
            return None
        return [sound for word in said for sound in self.words.sounds[word]]

    def _saying(self, number: int, _window_s: int, _rng: random.Random) -> dict[str, Any]:
        return {"target": self.texts[number].split()}

    def _talk(self, _number: int, window_s: int, rng: random.Random) -> dict[str, Any]:
        number = rng.choice(self.talk)
        take = min(round(_PIECE * self.lengths[number]), round(rng.uniform(_PIECE_S, window_s) * RATE))
        start = rng.uniform(0, self.lengths[number] - take)
        return {"clip": number, "take": take, "from": start, "heard": None}

    def _bare(self, _number: int, _window_s: int, _rng: random.Random) -> dict[str, Any]:
        return {"loud": 0.0, "heard": []}

    def _halved(self, number: int, window_s: int, rng: random.Random) -> dict[str, Any]:
        if " " in self.texts[number]:
            return self._saying(number, window_s, rng)
        take = round(self.lengths[number] * rng.uniform(0.3, 0.5))
        start = rng.choice((0.0, float(self.lengths[number] - take)))
        return {"take": take, "from": start, "heard": None}

    def _two(self, _number: int, window_s: int, rng: random.Random) -> dict[str, Any]:
        return {
            "second": self._spoken(window_s, rng),
            "second_gain": rng.uniform(0.7, 1.4),
            "heard": None,
        }

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
        number, other = rng.choices(range(len(self.noise_lengths)), self.noise_weights, k=2)
        return {
            "noise": number,
            "noise_at": rng.uniform(0, self.noise_lengths[number]),
            "noise_speed": rng.choice((1.0, rng.uniform(0.7, 1.4))),
            "beside": other,
            "beside_at": rng.uniform(0, self.noise_lengths[other]),
            "beside_gain": rng.uniform(0, 1) if rng.random() < _BESIDE else 0.0,
        }

    def _batch(self, plans: list[dict[str, Any]], window_s: int) -> dict[str, torch.Tensor]:
        kinds = dict.fromkeys(("clip", "second", "noise", "beside"), torch.int64) | {"cut": torch.bool}
        out = {
            name: torch.tensor([plan[name] for plan in plans], dtype=kinds.get(name, torch.float64))
            for name in plans[0]
            if name not in {"target", "heard"}
        }
        tokens, wanted = spelled([plan["target"] for plan in plans], self.special)
        return out | _heard(plans) | {"tokens": tokens, "wanted": wanted, "window": torch.tensor(window_s)}


def _heard(plans: Sequence[dict[str, Any]]) -> dict[str, torch.Tensor]:
    """Give the sounds of each window, filled up with noughts, and how many there are."""
    rows = [plan["heard"] for plan in plans]
    sounds = torch.zeros(len(rows), max(1, *(len(row or ()) for row in rows)), dtype=torch.int64)
    for place, row in enumerate(rows):
        sounds[place, : len(row or ())] = torch.tensor(row or [], dtype=torch.int64)
    counts = torch.tensor([UNKNOWN if row is None else len(row) for row in rows])
    return {"sounds": sounds, "count": counts}
