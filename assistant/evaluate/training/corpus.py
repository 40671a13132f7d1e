"""The texts in many synthetic voices, as a corpus: a folder with manifest.jsonl that `callout evaluate` takes.

Flite, Festival, eSpeak NG (Debian's packages flite, festival, festvox-kallpc16k, festvox-kdlpc16k, espeak-ng) and
Piper (extra `demo`), each run as a process of its own, never imported; needed for development only. Kokoro's
many voices are made by `kokoro`. Pace and pitch vary by the seed. The sound is plain for the training, in which rooms,
distance, headsets and noise come anew each time a clip is used. For measuring, `--surroundings` has each clip at a
headset, at the bench or from across the shop, by turns, and `--noises` adds so many stretches of noise: by turns a
workshop with a radio of the same voices, and the babble of them all.
"""

import argparse
import json
import random
import subprocess
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache, partial
from itertools import cycle
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import numpy as np
import soundfile

from assistant.evaluate.training.surroundings import ALL, Surroundings, heard_in
from assistant.simulate.noise import babble, workshop
from assistant.sound import RATE, Samples, Sound, read_sound
from assistant.speaking.engines.piper import PiperVoice

_Say = Callable[[str, random.Random], Samples]
_QUIET: Final = 0.01
_MARGIN_S: Final = 0.06
_PACES: Final = (0.85, 1.0, 1.2)
_NOISE_S: Final = 30.0
_ON_THE_RADIO: Final = 8
_NOISES: Final[Mapping[str, Callable[[float, int, Sequence[Sound]], Sound]]] = MappingProxyType(
    {"workshop": workshop, "babble": babble}
)


@dataclass(frozen=True, kw_only=True)
class Speaker:
    """A synthetic voice, the licence of its sound, and its share of the clips."""

    name: str
    licence: str
    share: float
    say: _Say


def trimmed(samples: Samples) -> Samples:
    """Cut the silence off both ends, but for a little."""
    loud = np.flatnonzero(np.abs(samples) > _QUIET * max(float(np.max(np.abs(samples), initial=0.0)), 1e-6))
    if not len(loud):
        return samples
    margin = round(_MARGIN_S * RATE)
    return samples[max(0, loud[0] - margin) : loud[-1] + margin]


def _ran(*command: str, said: str = "") -> Samples:
    """Run a voice that writes the file named as OUT; its sound at 16,000 samples a second."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "said.wav"
        subprocess.run(  # noqa: S603 - programs named below
            [str(out) if part == "OUT" else part for part in command],
            input=said,
            text=True,
            check=True,
            capture_output=True,
        )
        return read_sound(out).at(RATE).samples


def _flite(voice: str, pitch_hz: float, text: str, rng: random.Random) -> Samples:
    pitch = f"int_f0_target_mean={pitch_hz * rng.uniform(0.85, 1.18):.0f}"
    stretch = f"duration_stretch={rng.uniform(0.75, 1.25):.2f}"
    return _ran("flite", "-voice", voice, "--setf", pitch, "--setf", stretch, "-t", text, "-o", "OUT")


def _festival(voice: str, text: str, rng: random.Random) -> Samples:
    stretch = f"(Parameter.set 'Duration_Stretch {rng.uniform(0.8, 1.2):.2f})"
    return _ran("text2wave", "-eval", f"(voice_{voice})", "-eval", stretch, "-o", "OUT", said=text)


def _espeak(voice: str, text: str, rng: random.Random) -> Samples:
    pace, pitch = str(rng.randint(120, 190)), str(rng.randint(25, 75))
    return _ran("espeak-ng", "-v", voice, "-s", pace, "-p", pitch, "-w", "OUT", text)


@cache
def _piper_at(pace: float) -> PiperVoice:
    del pace  # one process a pace
    return PiperVoice(liveliness=0.8)


def _piper(text: str, rng: random.Random) -> Samples:
    pace = rng.choice(_PACES)
    return _piper_at(pace).render(text, pace=pace).at(RATE).samples


SPEAKERS: Final = (
    *(
        Speaker(
            name=f"flite-{voice}", licence="BSD-like (Flite)", share=3.0, say=partial(_flite, voice, pitch)
        )
        for voice, pitch in (("awb", 130), ("rms", 105), ("slt", 180), ("kal16", 105))
    ),
    *(
        Speaker(
            name=f"festival-{voice}", licence="BSD-like (Festival)", share=0.35, say=partial(_festival, voice)
        )
        for voice in ("ked_diphone", "kal_diphone")
    ),
    *(
        Speaker(name=f"espeak-{voice}", licence="sound of eSpeak NG", share=0.12, say=partial(_espeak, voice))
        for voice in ("en-us", "en-gb", "en-gb-scotland")
    ),
    Speaker(name="piper-joe", licence="CC0 (voice joe)", share=4.0, say=_piper),
)


def chosen(texts: Sequence[dict[str, Any]], count: int, rng: random.Random) -> list[dict[str, Any]]:
    """Choose texts for one voice, half of them commands or numbers."""
    commands = [text for text in texts if text["kind"] == "command"]
    others = [text for text in texts if text["kind"] != "command"]
    half = min(len(commands), count // 2)
    return rng.sample(commands, half) + rng.sample(others, min(len(others), count - half))


def make(
    out: Path, texts: Sequence[dict[str, Any]], count: int, seed: int, places: Sequence[Surroundings] = ()
) -> Iterator[dict[str, Any]]:
    """Say about `count` of the texts in all voices, in these places by turns; give the manifest's lines in turn."""
    total = sum(speaker.share for speaker in SPEAKERS)
    (out / "speech").mkdir(parents=True, exist_ok=True)
    jobs = [
        (speaker, text, f"{seed}-{speaker.name}-{number}")
        for speaker in SPEAKERS
        for number, text in enumerate(
            chosen(texts, round(count * speaker.share / total), random.Random(f"{seed} {speaker.name}"))
        )
    ]
    random.Random(seed).shuffle(jobs)
    with ThreadPoolExecutor(2) as pool:
        placed = [(*job, place) for job, place in zip(jobs, cycle(places or (None,)), strict=False)]
        yield from pool.map(lambda each: _one(out, *each), placed)


def _one(
    out: Path, speaker: Speaker, text: dict[str, Any], key: str, place: Surroundings | None
) -> dict[str, Any]:
    samples = trimmed(speaker.say(text["text"], random.Random(key)))
    if place is not None:
        samples = heard_in(samples, place, random.Random(key).getrandbits(32))
    name = f"speech/{key}.flac"
    soundfile.write(out / name, samples, RATE)
    return {
        "file": name,
        "text": text["text"],
        "speaker": f"{speaker.name}, {place.name}" if place else speaker.name,
        "source": f"synthetic voice {speaker.name}",
        "licence": speaker.licence,
        "split": "held" if text["held"] else "train",
        "part": "speech",
        "seconds": round(len(samples) / RATE, 2),
        "kind": text["kind"],
    }


def noises(out: Path, count: int, seed: int) -> Iterator[dict[str, Any]]:
    """Make so many stretches of noise, with voices of the corpus in it; give the manifest's lines."""
    (out / "noise").mkdir(parents=True, exist_ok=True)
    said = [read_sound(path) for path in sorted((out / "speech").glob(f"{seed}-*.flac"))[:_ON_THE_RADIO]]
    for number, (kind, made) in zip(range(count), cycle(_NOISES.items()), strict=False):
        name = f"noise/{seed}-{kind}-{number}.flac"
        soundfile.write(out / name, made(_NOISE_S, seed + number, said).samples, RATE)
        yield {
            "file": name,
            "part": "noise",
            "kind": kind,
            "source": "made here (simulate.noise)",
            "licence": "that of this project",
            "split": "held",
            "seconds": _NOISE_S,
        }


def main() -> None:
    """Make the corpus of synthetic voices."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("texts", type=Path)
    given.add_argument("out", type=Path)
    given.add_argument("--count", type=int, default=7000)
    given.add_argument("--seed", type=int, default=5)
    given.add_argument("--surroundings", action="store_true")
    given.add_argument("--noises", type=int, default=0)
    args = given.parse_args()
    texts = [json.loads(line) for line in args.texts.read_text(encoding="utf-8").splitlines()]
    args.out.mkdir(parents=True, exist_ok=True)
    with (args.out / "manifest.jsonl").open("w", encoding="utf-8") as manifest:
        places = ALL if args.surroundings else ()
        for line in make(args.out, texts, args.count, args.seed, places):
            manifest.write(json.dumps(line) + "\n")
        for line in noises(args.out, args.noises, args.seed):
            manifest.write(json.dumps(line) + "\n")


if __name__ == "__main__":
    main()
