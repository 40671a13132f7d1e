"""The voice that is always there: eSpeak NG from its wheel, through pyttsx3, rendered to memory.

eSpeak NG can be started once in a process and does one thing at a time, so there is one driver
here, behind one lock, for all voices.
"""

import ctypes
import importlib
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from assistant.errors import SpeakingError
from assistant.sound import Sound

if TYPE_CHECKING:
    from assistant.speaking.engines.espeak_driver import Driver

# Chosen by letting a recogniser (Whisper base) listen to replies in workshop noise at 3 to 12 dB: of the
# American variants tried this one lost the fewest words (at the last count 33 in 100; the plain voice 38).
_USUAL_LANGUAGE: Final = "en-us"
_USUAL_VARIANT: Final = "m3"
_USUAL_WPM: Final = 150  # eSpeak NG's own is 175

_SLOWEST_WPM: Final = 80
_FASTEST_WPM: Final = 450  # eSpeak NG takes no other
_FILES: Final = {"en-gb": "en"}  # where its file has another name, a variant is found by that name alone
_VARIANTS: Final = Path("voices", "!v")
_REMEDY: Final = "pip install 'espeakng-loader>=0.2.4' 'pyttsx3>=2.99'"

_turn = threading.Lock()


class EspeakVoice:
    """One of eSpeak NG's voices: a language ("en-us", "en-gb", "ko") and perhaps a variant ("f3").

    May be used from any thread.
    Raises SpeakingError where eSpeak NG is missing or has no such voice.
    """

    def __init__(self, language: str = _USUAL_LANGUAGE, variant: str | None = None) -> None:
        self.name = "espeak"
        voice = _FILES.get(language, language)
        self._voice = f"{voice}+{variant}" if variant else voice
        with _turn:
            _driver().choose(self._voice)
            _check_variant(variant)

    def render(self, words: str, *, pace: float = 1.0) -> Sound:
        """Turn words into sound at eSpeak NG's own rate (22,050 a second); it never plays anything."""
        wpm = min(max(round(_USUAL_WPM * pace), _SLOWEST_WPM), _FASTEST_WPM)
        with _turn:
            driver = _driver()
            driver.choose(self._voice)
            samples = driver.render(words, wpm=wpm)
            return Sound(samples, _library().espeak_ng_GetSampleRate())


def usual_voice() -> EspeakVoice:
    """Give the voice that reads replies. Raises SpeakingError where eSpeak NG is missing."""
    return EspeakVoice(_USUAL_LANGUAGE, _USUAL_VARIANT)


def present() -> str:
    """Say nothing where eSpeak NG can be used, else why it cannot."""
    try:
        with _turn:
            _driver()
    except SpeakingError as error:
        return error.what
    return ""


def _check_variant(variant: str | None) -> None:
    # eSpeak NG takes the plain voice in silence where it does not know the variant.
    if variant and not (_data() / _VARIANTS / variant).is_file():
        raise SpeakingError(f"eSpeak NG has no variant {variant!r}", do="name one of its variants, as f3")


@cache
def _driver() -> "Driver":
    """Start eSpeak NG, once in the life of the process; the caller holds the lock."""
    try:
        _library()
        with _data_from(_data()):
            driver: Driver = importlib.import_module("assistant.speaking.engines.espeak_driver").Driver()
            return driver
    except (ImportError, OSError, RuntimeError) as error:
        raise SpeakingError(f"eSpeak NG cannot be started ({error})", do=_REMEDY) from error


@cache
def _library() -> ctypes.CDLL:
    # Opened globally and first, the wheel's library answers to the name that pyttsx3 asks for, also
    # where the system has a copy of its own: everyone hears the same voice.
    path = importlib.import_module("espeakng_loader").get_library_path()
    return ctypes.CDLL(path, mode=ctypes.RTLD_GLOBAL)


def _data() -> Path:
    return Path(importlib.import_module("espeakng_loader").get_data_path())


@contextmanager
def _data_from(folder: Path) -> Iterator[None]:
    """Point eSpeak NG at the wheel's data while it starts, and no longer: other programs have their own."""
    before = os.environ.get("ESPEAK_DATA_PATH")
    os.environ["ESPEAK_DATA_PATH"] = str(folder)
    try:
        yield
    finally:
        os.environ.pop("ESPEAK_DATA_PATH")
        if before is not None:
            os.environ["ESPEAK_DATA_PATH"] = before
