import importlib.util
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import SpeakingError
from assistant.speaking.engines import piper
from assistant.speaking.engines.piper import PiperVoice

here = pytest.mark.skipif(bool(piper.present()), reason=f"{piper.present()}: {piper.REMEDY}")


@pytest.fixture(scope="module")
def voice() -> Iterator[PiperVoice]:
    """Open one voice for all tests: starting its process takes a second or two."""
    opened = PiperVoice()
    yield opened
    opened.close()


@here
def test_words_become_sound(voice: PiperVoice) -> None:
    """A sentence lasts some seconds and is not silent; spaces and line ends do not cut it."""
    sound = voice.render("  number four\n  done ")
    assert sound.rate == 22_050
    assert 0.5 < sound.seconds < 4
    assert np.max(np.abs(sound.samples)) > 0.1


@here
def test_the_same_words_give_the_same_sound(voice: PiperVoice) -> None:
    """Without liveliness the voice can be used to make a session again."""
    first = voice.render("repeat").samples
    voice.render("measured point two five millimetres")
    assert np.array_equal(voice.render("repeat").samples, first)


@here
def test_no_words_are_no_sound(voice: PiperVoice) -> None:
    """An empty line, which Piper would pass over without an answer, is not sent."""
    assert len(voice.render(" \n ").samples) == 0


@here
def test_another_pace_is_another_length_and_closing_removes_what_was_made() -> None:
    """Pace works, the process has ended after close, and its folder is gone."""
    voice = PiperVoice()
    usual = voice.render("measured point two five millimetres").seconds
    quick = voice.render("measured point two five millimetres", pace=1.5).seconds
    assert quick < 0.85 * usual
    worker = voice._worker
    assert worker is not None
    assert list(worker._folder.iterdir()) == []
    voice.close()
    assert worker._process.poll() is not None
    assert not worker._folder.exists()


@here
def test_a_voice_that_is_not_one_is_said_with_what_piper_said(tmp_path: Path) -> None:
    """A model that cannot be read ends in one line, not in waiting."""
    model = tmp_path / "voice.onnx"
    model.write_bytes(b"not a model")
    voice = PiperVoice(model)
    with pytest.raises(SpeakingError, match="Piper ended without speaking") as refusal:
        voice.render("next")
    assert "\n" not in str(refusal.value)
    voice.close()


@here
def test_a_forgotten_voice_ends_its_process() -> None:
    """A program that ends without closing the voice leaves no process and no warning."""
    program = (
        "from assistant.speaking.engines.piper import PiperVoice\n"
        "voice = PiperVoice(); voice.render('next'); worker = voice._worker\n"
        "print(worker._process.pid, worker._folder)\n"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", program], capture_output=True, text=True, check=True
    )
    process, folder = done.stdout.split()
    assert done.stderr == ""
    assert not Path("/proc", process).exists()
    assert not Path(folder).exists()


def test_piper_is_never_imported() -> None:
    """Its licence keeps it in a process of its own."""
    program = (
        "import sys\n"
        "from assistant.speaking.engines import piper\n"
        "piper.present()\n"
        "assert not any(name.split('.')[0] == 'piper' for name in sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True)


def test_without_piper_the_refusal_names_one_command(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine without the extra is told what to install."""
    monkeypatch.setattr(importlib.util, "find_spec", lambda _name: None)
    assert piper.present() == "Piper is not installed"
    with pytest.raises(SpeakingError) as refusal:
        PiperVoice()
    assert refusal.value.do == "pip install 'callout[demo]'"


def test_without_the_voice_file_that_is_what_is_missing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Piper without a voice is not enough."""
    monkeypatch.setattr(importlib.util, "find_spec", lambda _name: object())
    monkeypatch.setattr(piper, "shipped_voice", lambda: tmp_path / "none.onnx")
    assert piper.present() == "the voice for Piper is not installed"
