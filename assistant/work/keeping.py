"""Keeping the sound that was refused, where that is asked for: to find out later why, and for nothing else."""

from itertools import count
from pathlib import Path
from typing import Final

from assistant.hearing.recogniser import Recognised
from assistant.sound import RATE, Sound, write_sound

FOLDER: Final = "refused"


class RefusedSound:
    """Keeps refused utterances as FLAC in a folder of the job's own."""

    def __init__(self, job: Path) -> None:
        self._job = job

    def keep(self, heard: Recognised) -> str:
        """Keep the sound of an utterance, and give its file in the job's folder; "" where it has no sound.

        Raises AssistantError where the disk refuses.
        """
        if heard.utterance is None:
            return ""
        folder = self._job / FOLDER
        folder.mkdir(exist_ok=True)
        files = (folder / f"{number:05}.flac" for number in count(1))
        file = next(file for file in files if not file.exists())
        write_sound(file, Sound(heard.utterance.samples, RATE))
        return f"{FOLDER}/{file.name}"
