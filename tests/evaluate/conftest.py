from pathlib import Path

import pytest

from assistant.simulate.noise import workshop
from assistant.simulate.voices import mechanics
from assistant.sound import write_sound
from tests.evaluate.made import Row, write_manifest


@pytest.fixture(scope="session")
def spoken_corpus(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a small corpus: five commands, one stretch of talk, one of noise; WAV and FLAC, two rates."""
    folder = tmp_path_factory.mktemp("spoken")
    rows: list[Row] = []
    for number, text in enumerate(["stop", "one one zero", "done", "next", "left"]):
        voice = mechanics()[number % 2]
        file = f"{number}.{'wav' if number % 2 else 'flac'}"
        write_sound(folder / file, voice.say(text, number).at(22_050 if number % 2 else 16_000))
        rows.append({"file": file, "text": text, "part": "speech", "speaker": voice.name})
    write_sound(folder / "talk.wav", mechanics()[0].say("where did you park the van this morning", 9))
    rows.append({"file": "talk.wav", "text": "where did you park the van this morning", "part": "talk"})
    write_sound(folder / "hum.wav", workshop(4.0, 3))
    rows.append({"file": "hum.wav", "part": "noise", "kind": "compressor", "licence": None})
    return write_manifest(folder, rows)
