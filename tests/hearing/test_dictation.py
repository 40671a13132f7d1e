import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing import weights
from assistant.hearing.dictation import WRITERS, open_writer
from assistant.simulate.voices import mechanics
from assistant.sound import Samples, join, silence

TEXT = "The gasket was torn at the front"


@pytest.fixture(scope="module")
def spoken() -> Samples:
    """Give a sentence said by a voice that is always here."""
    return join([silence(0.3), mechanics()[0].say(TEXT, 1), silence(0.3)]).at(16_000).samples


def test_the_one_that_is_always_there_is_rough(spoken: Samples) -> None:
    """PocketSphinx writes something down, says that it is rough, and the same twice."""
    writer = open_writer("pocketsphinx")
    assert writer.rough
    words = writer.write_down(spoken)
    assert words
    assert open_writer("pocketsphinx").write_down(spoken) == words
    assert writer.write_down(np.zeros(0, np.float32)) == ""


def test_whisper_writes_what_was_said(spoken: Samples) -> None:
    """Where its weights are, whisper is the one that is taken, and gets most words right."""
    if weights.missing():
        pytest.skip(f"whisper cannot be used here: {weights.missing()}")
    writer = open_writer()
    assert (writer.name, writer.rough) == ("whisper", False)
    heard = set(writer.write_down(spoken).lower().strip(".").split())
    assert len(heard & set(TEXT.lower().split())) >= 4


def test_whisper_goes_past_its_window(spoken: Samples) -> None:
    """A note longer than half a minute is written down to its end."""
    if weights.missing():
        pytest.skip(f"whisper cannot be used here: {weights.missing()}")
    long = np.concatenate([spoken, silence(31.0).samples, spoken])
    words = open_writer("whisper").write_down(long).lower()
    assert words.count("front") == 2, words


def test_the_best_that_is_here_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without weights and models it falls back to the one that is always there."""
    monkeypatch.setattr(weights, "missing", lambda: "none")
    monkeypatch.setattr("assistant.hearing.engines.vosk.missing", lambda: "none")
    assert open_writer().name == "pocketsphinx"


def test_unknown_writers_are_named() -> None:
    """A name that there is none of is told with those that there are."""
    with pytest.raises(HearingError, match="whisper, vosk, pocketsphinx"):
        open_writer("stenographer")
    assert list(WRITERS) == ["whisper", "vosk", "pocketsphinx"]
