import subprocess
import sys

import pytest

from assistant.errors import SpeakingError
from assistant.speaking.engines import open_voice, voices


def test_every_voice_says_what_it_is_and_what_brings_it() -> None:
    """The list can be shown to a user as it is."""
    names = [entry.name for entry in voices()]
    assert names == ["espeak", "piper"]
    for entry in voices():
        assert entry.about
        assert entry.needs
        assert entry.remedy.startswith("pip install")


def test_the_usual_voice_is_the_one_that_is_always_there() -> None:
    """Without a name the voice opened is the first of the list, and it speaks."""
    assert voices()[0].missing() == ""
    voice = open_voice()
    assert voice.name == voices()[0].name
    assert voice.render("next").seconds > 0.2


def test_an_unknown_voice_is_refused_with_the_names_there_are() -> None:
    """A wrong name says what could have been asked."""
    with pytest.raises(SpeakingError, match="name one of espeak, piper"):
        open_voice("nobody")


def test_a_voice_that_is_not_here_says_why_and_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """A known voice that lacks its package is refused with the command that brings it."""
    monkeypatch.setattr("assistant.speaking.engines.piper.present", lambda: "Piper is not installed")
    with pytest.raises(SpeakingError, match=r"Piper is not installed; pip install 'callout\[demo\]'"):
        open_voice("piper")


def test_listing_voices_opens_no_library() -> None:
    """Looking at the names imports neither pyttsx3 nor a sound device."""
    program = (
        "import sys\n"
        "import assistant.speaking.engines, assistant.speaking.player, assistant.speaking.tones\n"
        "assistant.speaking.engines.voices()\n"
        "assert not {'pyttsx3', 'espeakng_loader', 'sounddevice'} & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True)
