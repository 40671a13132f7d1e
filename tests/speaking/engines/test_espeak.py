import gc
import subprocess
import sys
import threading
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import SpeakingError
from assistant.speaking.engines import espeak
from assistant.speaking.engines.espeak import EspeakVoice

WORDS = "Tighten bolt five to twelve newton metres."
STEADY = "klatt6"  # a variant whose pitch does not flutter: the same words give the same sound


def open_files() -> int:
    """Count the files that this process holds open."""
    return sum(1 for _ in Path("/dev/fd").iterdir())


def test_words_become_sound_at_the_engines_rate() -> None:
    """A sentence lasts some seconds, is neither silent nor clipped, and ends soon after its words."""
    sound = EspeakVoice("en-us").render(WORDS)
    assert sound.rate == 22_050
    assert 1.5 < sound.seconds < 6
    assert 0.1 < np.max(np.abs(sound.samples)) <= 1
    assert np.any(sound.samples[-1500:])


@pytest.mark.parametrize("words", ["", "   ", "\n"])
def test_no_words_are_no_sound(words: str) -> None:
    """Nothing to say takes no time."""
    assert len(EspeakVoice("en-us").render(words).samples) == 0


def test_pace_changes_how_long_it_takes() -> None:
    """Twice the pace is clearly shorter, half of it clearly longer."""
    voice = EspeakVoice("en-us")
    usual = voice.render(WORDS).seconds
    assert voice.render(WORDS, pace=1.6).seconds < 0.8 * usual
    assert voice.render(WORDS, pace=0.6).seconds > 1.3 * usual


@pytest.mark.parametrize("pace", [0.01, 100.0])
def test_a_pace_beyond_the_engines_limits_is_held_at_them(pace: float) -> None:
    """An absurd pace still speaks."""
    assert EspeakVoice("en-us").render("next", pace=pace).seconds > 0.05


@pytest.mark.parametrize("language", ["en-us", "en-gb", "ko"])
def test_languages_sound_different(language: str) -> None:
    """Korean and both kinds of English are there."""
    words = "다음 볼트" if language == "ko" else "next bolt"
    assert EspeakVoice(language).render(words).seconds > 0.3


def test_a_british_voice_takes_a_variant() -> None:
    """The language whose file has another name can be given a variant too."""
    assert EspeakVoice("en-gb", STEADY).render("next").seconds > 0.2


@pytest.mark.parametrize(("language", "variant"), [("xx-none", None), ("en-us", "nobody")])
def test_an_unknown_voice_is_refused(language: str, variant: str | None) -> None:
    """Neither a language nor a variant that is not there is passed over in silence."""
    with pytest.raises(SpeakingError, match="eSpeak NG has no"):
        EspeakVoice(language, variant)


def test_voices_do_not_disturb_one_another() -> None:
    """After another voice, pace and language, a voice sounds as it did before."""
    steady = EspeakVoice("en-us", STEADY)
    before = steady.render(WORDS).samples
    EspeakVoice("ko").render("다음", pace=2.0)
    EspeakVoice("en-gb", "f3").render("stop")
    assert np.array_equal(steady.render(WORDS).samples, before)


def test_any_thread_may_render() -> None:
    """Four threads at once get the same sound that one thread gets."""
    voice = EspeakVoice("en-us", STEADY)
    expected = voice.render(WORDS).samples
    same: list[bool] = []

    def render() -> None:
        same.extend(np.array_equal(voice.render(WORDS).samples, expected) for _ in range(5))

    threads = [threading.Thread(target=render) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert same == [True] * 20


def test_fifty_renderings_leave_no_threads_or_files_behind() -> None:
    """A day of replies does not use the machine up."""
    voice = EspeakVoice("en-us")
    voice.render("next")
    gc.collect()
    threads, files = threading.active_count(), open_files()
    for _ in range(50):
        voice.render("number four done")
    gc.collect()
    assert threading.active_count() == threads
    assert open_files() == files


def test_rendering_prints_nothing_and_leaves_the_environment_alone() -> None:
    """Standard output stays free for the caller's own lines, in a process that ends cleanly."""
    program = (
        "import os; before = dict(os.environ)\n"
        "from assistant.speaking.engines.espeak import EspeakVoice\n"
        "EspeakVoice('en-us').render('next')\n"
        "assert dict(os.environ) == before\n"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", program], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_a_missing_library_is_said_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the wheel is missing, the reason and the remedy are given."""
    espeak._driver.cache_clear()
    espeak._library.cache_clear()
    monkeypatch.setitem(sys.modules, "espeakng_loader", None)
    assert "espeakng_loader" in espeak.present()
    with pytest.raises(SpeakingError, match="pip install"):
        EspeakVoice("en-us")
    monkeypatch.undo()
    assert espeak.present() == ""
