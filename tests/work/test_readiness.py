"""What `callout ready` says of the recognisers and of a microphone."""

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing.engines import whisper_shop
from assistant.hearing.sources import QueueSource
from assistant.sound import RATE, Samples
from assistant.work.readiness import Row, heard_now, report

ROW = Row(kind="device", name="microphone", here="desk", used=True)
NOISE = np.random.default_rng(1).standard_normal(2 * RATE)


@contextmanager
def microphone(sound: Samples) -> Iterator[QueueSource]:
    """Give a microphone at which there is this sound."""
    source = QueueSource()
    source.push(sound)
    yield source


@pytest.mark.parametrize(
    ("level_db", "said", "remedy"),
    [
        (-60, "dB now", ""),
        (-20, "dB now", ""),
        (20, "broken", "turn it down"),
        (-400, "no sound", "switch it on"),
    ],
)
def test_it_tells_what_comes_in_now(level_db: float, said: str, remedy: str) -> None:
    """A second of the room: its level, and what to do where it is broken or there is nothing at all."""
    sound = np.clip(10 ** (level_db / 20) * NOISE, -1, 1).astype(np.float32)
    sound[np.abs(sound) < 1e-10] = 0
    row = heard_now(ROW, lambda: microphone(sound))
    assert said in row.here
    assert row.remedy.startswith(remedy)
    assert bool(row.remedy) == bool(remedy)
    assert row.used
    if level_db == -60:
        assert row.here.startswith(("desk, -59", "desk, -60"))


def test_what_was_taught_here_is_named_with_its_revision(monkeypatch: pytest.MonkeyPatch) -> None:
    """The recogniser of the loud shop stands first, and the record of its weights says which they are."""
    monkeypatch.setattr(whisper_shop, "missing", lambda: "")
    first = report()[0][0]
    assert first.name.startswith("whisper-shop")
    assert first.here == f"yes, revision {whisper_shop.revision()}"
    assert first.used


def test_one_that_cannot_be_opened_is_told() -> None:
    """Another program may hold it; it is not used then, and the list goes on."""

    @contextmanager
    def held() -> Iterator[QueueSource]:
        raise HearingError("no microphone can be opened (busy)", do="close the other program")
        yield QueueSource()

    row = heard_now(ROW, held)
    assert row.here == "desk, no microphone can be opened (busy)"
    assert row.remedy == "close the other program"
    assert not row.used
