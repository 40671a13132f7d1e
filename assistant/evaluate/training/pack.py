"""Everything the training needs in one folder: the sound of corpora, the words, the base weights.

Of real recordings only those are marked for training whose licence is free of share-alike and copyleft
terms; a fifth of the real speakers, a quarter of the talk and a fifth of the noise are held out. All the
others, share-alike ones too, are there for measuring alone.
"""

import argparse
import io
import json
import random
import zlib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
import soundfile
from faster_whisper.feature_extractor import FeatureExtractor
from tokenizers import Tokenizer

from assistant.evaluate.training.texts import RECORDED, SEED, dictionary, grammars
from assistant.hearing import weights
from assistant.hearing.delta import Model, read_model
from assistant.hearing.phone_net import chains_of
from assistant.simulate.noise import workshop
from assistant.sound import RATE, Sound, read_sound

FREE: Final = (
    *("CC0", "CC BY 3", "CC BY 4", "CC-BY-3", "CC-BY-4", "BSD", "MIT", "Apache", "Public domain"),
    *("CMU AN4", "CMU ARCTIC", "sound of", "own"),
)
"""How the licences begin that are free of share-alike and copyleft terms."""
_HELD: Final = {"speech": 5, "talk": 4, "noise": 5}
_DRAWS: Final = 4  # of the names that grammars are made up with


def may_train(line: dict[str, Any]) -> bool:
    """Tell whether a recording is free and not held out."""
    if not line["licence"].startswith(FREE):
        return False
    if line["source"].startswith("synthetic"):
        return bool(line["split"] == "train")
    key = line["speaker"] if line["part"] == "speech" else line["file"]
    return zlib.crc32(key.encode()) % _HELD[line["part"]] != 0


def sounds(folder: Path) -> Iterable[tuple[dict[str, Any], bytes]]:
    """Give a corpus' lines, each with its sound as Opus in Ogg."""
    for text in (folder / "manifest.jsonl").read_text(encoding="utf-8").splitlines():
        line = json.loads(text)
        sound = read_sound(folder / line["file"]).at(RATE)
        kept = {
            key: line.get(key, "") for key in ("text", "speaker", "source", "licence", "part", "kind", "file")
        }
        yield (
            {**kept, "train": may_train(line)},
            _opus(sound.samples, 0.8 if line["part"] != "speech" else 0.86),
        )


def shop_noises(count: int, voices: Sequence[Sound], seed: int) -> Iterable[tuple[dict[str, Any], bytes]]:
    """Give half a minute each of generated shop noise, some with a radio of voices."""
    rng = random.Random(seed)
    for number in range(count):
        radio = rng.sample(voices, 8) if number % 3 == 0 else ()
        noise = workshop(20, seed + number, radio)
        line = {
            "text": "",
            "speaker": "",
            "source": "generated",
            "licence": "own",
            "part": "noise",
            "kind": "generated shop",
            "file": f"workshop-{number}",
            "train": number % 5 != 0,
        }
        yield line, _opus(noise.samples, 0.8)


def write(path: Path, found: Iterable[tuple[dict[str, Any], bytes]]) -> None:
    """Write lines and sounds in one file."""
    lines, blobs = zip(*found, strict=True)
    np.savez(
        path,
        blob=np.frombuffer(b"".join(blobs), np.uint8),
        lengths=np.array([*map(len, blobs)]),
        lines=json.dumps(lines),
    )


def words(texts: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Give what plans.Words takes; and the tokens to start and end with."""
    tokens = Tokenizer.from_file(str(weights.weights() / "tokenizer.json"))
    commands = {word for n in range(_DRAWS) for g in grammars(random.Random(SEED + n)) for word in g.words}
    every = {word for text in texts for word in text["text"].split()} | commands | {*RECORDED, *dictionary()}
    special = {
        name: tokens.token_to_id(f"<|{name}|>")
        for name in ("startoftranscript", "en", "transcribe", "notimestamps", "endoftext")
    }
    usual = {word for text in texts if not text["held"] for word in text["text"].split()} | commands
    return {
        "tokens": {word: tokens.encode(f" {word}", add_special_tokens=False).ids for word in sorted(every)},
        "sounds": {word: chains_of(word)[0] for word in sorted(every)},
        "special": special,
        "words": sorted(usual),
    }


def small(model: Model) -> dict[str, np.ndarray[Any, Any]]:
    """Give the arrays with the matrices as int8 with a scale for each row, as they are in use."""
    out: dict[str, np.ndarray[Any, Any]] = {}
    for name, array in model.arrays.items():
        if array.ndim == 2 and "position" not in name and "alignment" not in name:
            full = array.astype(np.float32)
            scale = np.abs(full).max(1, keepdims=True) / 127
            out[name + "|scale"] = scale
            out[name] = np.rint(full / scale).astype(np.int8)
        else:
            out[name] = array
    return out


def _opus(samples: np.ndarray[Any, Any], level: float) -> bytes:
    out = io.BytesIO()
    soundfile.write(out, samples, RATE, format="OGG", subtype="OPUS", compression_level=level)
    return out.getvalue()


def main() -> None:
    """Pack."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("what", choices=("words", "sounds", "noises", "base"))
    given.add_argument("source", type=Path, help="texts.jsonl; a corpus; a corpus with talk; nothing")
    given.add_argument("out", type=Path)
    given.add_argument("--seed", type=int, default=SEED)
    args = given.parse_args()
    if args.what == "words":
        lines = [json.loads(line) for line in args.source.read_text(encoding="utf-8").splitlines()]
        mels = FeatureExtractor().mel_filters
        np.savez_compressed(args.out, words=json.dumps(words(lines)), mels=np.asarray(mels, np.float32))
    elif args.what == "sounds":
        write(args.out, sounds(args.source))
    elif args.what == "noises":
        files = [json.loads(text) for text in (args.source / "manifest.jsonl").read_text().splitlines()]
        voices = [
            read_sound(args.source / line["file"])
            for line in files
            if line["part"] == "talk" and may_train(line)
        ]
        write(args.out, shop_noises(60, voices, args.seed))
    else:
        arrays: dict[str, Any] = small(read_model(weights.weights() / "model.bin"))
        np.savez(args.out, **arrays)


if __name__ == "__main__":
    main()
