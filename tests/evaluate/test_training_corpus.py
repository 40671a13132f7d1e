"""Noise beside the generated commands."""

import json
from pathlib import Path

import numpy as np

from assistant.evaluate.corpus import read_corpus
from assistant.evaluate.training.corpus import noises
from assistant.sound import RATE, Sound, read_sound, write_sound


def test_noises_are_a_workshop_and_babble_by_turns(tmp_path: Path) -> None:
    """They last for as long as they say, differ, and are noise to whoever measures with them."""
    (tmp_path / "speech").mkdir()
    rng = np.random.default_rng(1)
    for number in range(3):
        said = (0.1 * rng.standard_normal(RATE)).astype(np.float32)
        write_sound(tmp_path / "speech" / f"5-{number}.flac", Sound(said))
    lines = [*noises(tmp_path, 3, 5)]
    (tmp_path / "manifest.jsonl").write_text("\n".join(map(json.dumps, lines)), encoding="utf-8")
    found = read_corpus(tmp_path).part("noise")
    assert [clip.kind for clip in found] == ["workshop", "babble", "workshop"]
    sounds = [read_sound(clip.path) for clip in found]
    assert [sound.seconds for sound in sounds] == [line["seconds"] for line in lines]
    assert not np.array_equal(sounds[0].samples, sounds[2].samples)
