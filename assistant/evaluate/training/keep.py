"""The delta and the head as the product keeps them, with what was trained on, how, and what was measured.

What several trainings from one start came to is taken in the mean (a model soup: Wortsman and others 2022, from
memory), which hears better than each of them.
"""

import argparse
import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from assistant.evaluate.training.clips import HELD
from assistant.hearing.phone_head import SOUNDS
from assistant.hearing.weights import SHA256


def sources(packs: Iterable[Path]) -> list[dict[str, Any]]:
    """Give what was trained on, with its licence and how many clips of it there were."""
    found: Counter[tuple[str, str, str]] = Counter()
    for path in packs:
        with np.load(path) as packed:
            for line in json.loads(str(packed["lines"])):
                if line.get("train", line["speaker"] not in HELD):
                    found[line["part"], line["source"], line["licence"]] += 1
    return [
        {"part": part, "source": source, "licence": licence, "clips": count}
        for (part, source, licence), count in sorted(found.items())
    ]


def mean_of(deltas: Sequence[Path]) -> dict[str, np.ndarray[Any, Any]]:
    """Give the mean of what was trained, array by array; of two factors that is nearly that of their product."""
    trained = [loaded(path) for path in deltas]
    return {
        name: np.mean([each[name].astype(np.float32) for each in trained], axis=0).astype(np.float16)
        for name in set().union(*trained)
    }


def loaded(path: Path) -> dict[str, np.ndarray[Any, Any]]:
    """Read all arrays of a file."""
    with np.load(path) as arrays:
        return {name: arrays[name] for name in arrays.files}


def write(path: Path, arrays: dict[str, Any]) -> None:
    """Write arrays as they are named, in the order of their names."""
    np.savez(path, **dict(sorted(arrays.items())))


def main() -> None:
    """Keep a delta."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--deltas", type=Path, nargs="+", required=True, help="what was trained")
    given.add_argument(
        "out", type=Path, help="whisper_shop.npz; the head and the account are written beside it"
    )
    given.add_argument("packs", type=Path, nargs="+", help="the packed sounds that were trained on")
    given.add_argument("--revision", required=True)
    given.add_argument("--how", required=True, help="the runs that made it, in words")
    given.add_argument("--log", type=Path, required=True, help="the log of one of the trainings")
    args = given.parse_args()
    arrays = mean_of(args.deltas)
    head = args.out.with_name(f"{args.out.stem}_sounds.npz")
    write(args.out, {name: array for name, array in arrays.items() if not name.startswith(SOUNDS)})
    write(head, {name: array for name, array in arrays.items() if name.startswith(SOUNDS)})
    account = {
        "revision": args.revision,
        "sha256": hashlib.sha256(args.out.read_bytes()).hexdigest(),
        "sounds": {"file": head.name, "sha256": hashlib.sha256(head.read_bytes()).hexdigest()},
        "base": {"name": "Whisper base (OpenAI, MIT), as CTranslate2 holds it", "sha256": SHA256},
        "licence": "MIT, as this program; the recordings that it was trained on are credited below",
        "how": args.how,
        "sources": sources(args.packs),
        "log of one": args.log.read_text(encoding="utf-8").splitlines(),
    }
    args.out.with_suffix(".json").write_text(json.dumps(account, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
