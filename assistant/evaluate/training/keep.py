"""The delta as the product keeps it, and its account: what was trained on, how, and what was measured."""

import argparse
import hashlib
import json
import shutil
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from assistant.evaluate.training.clips import HELD
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


def main() -> None:
    """Keep a delta."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("delta", type=Path)
    given.add_argument("out", type=Path, help="whisper_shop.npz; its account is written beside it")
    given.add_argument("packs", type=Path, nargs="+", help="the packed sounds that were trained on")
    given.add_argument("--revision", required=True)
    given.add_argument("--how", required=True, help="the runs that made it, in words")
    given.add_argument("--log", type=Path, required=True, help="the last run's log")
    args = given.parse_args()
    shutil.copyfile(args.delta, args.out)
    account = {
        "revision": args.revision,
        "sha256": hashlib.sha256(args.out.read_bytes()).hexdigest(),
        "base": {"name": "Whisper base (OpenAI, MIT), as CTranslate2 holds it", "sha256": SHA256},
        "licence": "MIT, as this program; the recordings that it was trained on are credited below",
        "how": args.how,
        "sources": sources(args.packs),
        "measured": args.log.read_text(encoding="utf-8").splitlines(),
    }
    args.out.with_suffix(".json").write_text(json.dumps(account, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
