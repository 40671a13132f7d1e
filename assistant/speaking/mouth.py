"""Where words become sound: a voice, the tones, the notes, and the speaker that can be stopped.

The conductor of a job speaks through one of these; which one, `--speak` says.
"""

from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import Protocol, Self

from assistant.dialogue.reply import PlayNote, Tone
from assistant.errors import AssistantError
from assistant.sound import Sound, read_sound, silence
from assistant.speaking.player import Speaker
from assistant.speaking.stretch import at_pace
from assistant.speaking.tones import tone as tone_sound
from assistant.speaking.voice import Voice

PAUSE_S = 0.35
"""Silence after each answer, so that answers kept in a file stand apart."""


def _note(folder: Path, piece: PlayNote) -> Sound:
    """Give the sound of a note; where it is lost, the tone that says so, since the work goes on."""
    try:
        return at_pace(read_sound(folder / piece.file), piece.pace)
    except AssistantError:
        return tone_sound("not understood")


class Mouth(Protocol):
    """What a job speaks through."""

    @property
    def speaking(self) -> bool:
        """Whether something is being heard."""
        ...

    def say(
        self,
        pieces: Sequence[str | PlayNote],
        *,
        tone: Tone | None,
        loudness: float,
        pace: float,
        sound: Path,
    ) -> None:
        """Sound a tone, words and notes in order; `sound` is the folder in which notes lie."""
        ...

    def hush(self) -> None:
        """Fall silent at once."""
        ...

    def close(self) -> None:
        """Give back what was opened."""
        ...


class NoMouth:
    """Says nothing; what would be said is shown elsewhere."""

    speaking = False

    def say(
        self,
        pieces: Sequence[str | PlayNote],
        *,
        tone: Tone | None,
        loudness: float,
        pace: float,
        sound: Path,
    ) -> None:
        """Take no notice."""

    def hush(self) -> None:
        """Be silent already."""

    def close(self) -> None:
        """Have nothing to give back."""


class VoiceMouth:
    """Speaks with a voice through a speaker; `live` where that is a loudspeaker somebody hears."""

    def __init__(self, voice: Voice, speaker: Speaker, *, live: bool) -> None:
        self._voice = voice
        self._speaker = speaker
        self._live = live

    @property
    def speaking(self) -> bool:
        """Whether something is being heard; what goes into a file is never in anybody's way."""
        return self._live and self._speaker.playing

    def say(
        self,
        pieces: Sequence[str | PlayNote],
        *,
        tone: Tone | None,
        loudness: float,
        pace: float,
        sound: Path,
    ) -> None:
        """Sound a tone, words and notes in order; what is still being said ends first."""
        self._speaker.stop()
        if tone is not None:
            self._speaker.play(tone_sound(tone), loudness=loudness)
        for piece in pieces:
            made = (
                _note(sound, piece) if isinstance(piece, PlayNote) else self._voice.render(piece, pace=pace)
            )
            self._speaker.play(made, loudness=loudness)
        if not self._live:
            self._speaker.play(silence(PAUSE_S))
            self._speaker.wait()

    def hush(self) -> None:
        """Fall silent at once."""
        self._speaker.stop()

    def close(self) -> None:
        """Let a loudspeaker finish, and give it back."""
        self._speaker.wait()
        self._speaker.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
