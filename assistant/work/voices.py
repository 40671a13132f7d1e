"""The voices of a shop's mechanics: how surely each is heard, learned from two minutes of read commands.

A voice that the recogniser hears less surely than others needs less for a command; one that it hears more surely
is held to no more, since it is read in quiet and used in noise. Kept by name, a file each, in the user's data folder.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace as changed
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Final

import numpy as np
from pydantic import BaseModel, ConfigDict, ValidationError

from assistant.errors import HearingError
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.hearing.templates import Templates, course
from assistant.job.folder import slug
from assistant.paths import user_data
from assistant.work.files import read_text, replace

USUAL: Final[Mapping[str, float]] = MappingProxyType({"whisper-shop": 3.0, "whisper": 3.2})
"""By the engine's name: the mean log odds with which it hears right what is read without much noise.

Whisper: 210 readings of the development set, without noise and at 20 dB. Its shop's twin: 275 of speakers that it was
not trained on, without noise. An engine that is not here was not measured.
"""

MOST: Final = 1.0
"""The most that a voice's log odds are raised by.

Measured with whisper on ten speakers of four clips and more (38 clips at five noise levels, 190 cases), each clip
with what was learned from the speaker's others: 124 acted on rightly and 0 wrongly before, 129 and 1 after; of 590
stretches of other talk 11 were taken before and, over the voices, 11.5 after. Lowered as well, 128 and 1, and 11; up
to 1.5 either way, 128 and 1, and 12.

The readings as templates pay more. Two speakers of ten words, one reading each, two others tested, of 40 acted on
rightly before and after: 30 and 37 without noise, 28 and 34 at 10 dB, 19 and 23 at 5 dB; wrongly 1 and 1 of 120;
of 140 stretches of other talk 4 and 4.

Both with whisper-shop 4, the same two speakers (it was not trained on them), one reading of each word, four others
tested, all the development set's phrases in the grammar, by `callout evaluate --mechanic`; of 80 acted on rightly
before and after: 73 and 77 without noise, 72 and 76 at 10 dB, 64 and 71 at 5 dB, 55 and 59 at 0 dB; wrongly 1 and 1 of
320; of 196 stretches of other talk 7 and 7, of 51 noises none.
"""

FEWEST: Final = 8
"""Fewer right readings say nothing about a voice."""


class KnownVoice(BaseModel):
    """One mechanic's voice: how much its log odds are raised (`ease`), by the engine's name.

    `courses` is how each command was read (`hearing.templates`), rows of numbers by its words.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    ease: Mapping[str, float]
    readings: int
    made: date
    courses: Mapping[str, tuple[tuple[float, ...], ...]] = {}

    @property
    def templates(self) -> Templates:
        """The readings, ready to be compared with."""
        return Templates({words: np.asarray(rows, np.float32) for words, rows in self.courses.items()})


def adapted(recogniser: Recogniser, voice: KnownVoice | None) -> Recogniser:
    """Give the recogniser as it hears this voice; as it is where none is known."""
    if voice is None:
        return recogniser
    ease = voice.ease.get(recogniser.engine.name, 0.0)
    return changed(recogniser, ease=ease, templates=voice.templates)


def log_odds(confidence: float) -> float:
    """Give the log odds of a confidence, 0 to 1."""
    bounded = min(max(confidence, 1e-6), 1 - 1e-6)
    return math.log(bounded / (1 - bounded))


def refuse_unmeasured(engine: str) -> None:
    """Raise HearingError for an engine for which it was not measured whether a known voice helps."""
    if engine not in USUAL:
        raise HearingError(
            f"adapting to a voice was not measured for {engine}", do=f"use --engine {', '.join(USUAL)}"
        )


def learn(name: str, engine: str, readings: Sequence[Recognised], *, today: date) -> KnownVoice:
    """Learn a voice from readings that were heard right.

    Raises HearingError where they are too few, or the engine is none for which it was measured.
    """
    refuse_unmeasured(engine)
    if len(readings) < FEWEST:
        raise HearingError(
            f"only {len(readings)} commands were heard right, and {FEWEST} are needed",
            do="read them again where it is quieter, close to the microphone",
        )
    mean = sum(log_odds(each.confidence) for each in readings) / len(readings)
    ease = min(max(USUAL[engine] - mean, 0.0), MOST)
    return KnownVoice(
        name=name,
        ease={engine: round(ease, 3)},
        readings=len(readings),
        made=today,
        courses=dict(_courses(readings)),
    )


def _courses(readings: Sequence[Recognised]) -> Iterator[tuple[str, tuple[tuple[float, ...], ...]]]:
    """Give how each command was read; of one that was read twice, the last time."""
    for each in readings:
        found = course(each.utterance.speech) if each.utterance else None
        if found is not None:
            yield " ".join(each.heard), tuple(tuple(round(float(n), 3) for n in row) for row in found)


def keep(voice: KnownVoice) -> Path:
    """Keep a voice under its name, beside what is known of it for other engines; gives the file."""
    path = _folder() / f"{slug(voice.name)}.json"
    before = _read(path).ease if path.exists() else {}
    replace(
        path, voice.model_copy(update={"ease": {**before, **voice.ease}}).model_dump_json(indent=2) + "\n"
    )
    return path


def known_voice(name: str | None) -> KnownVoice | None:
    """Give the voice of this name, by default the only one there is; None where there is none or several.

    Raises HearingError for a name that is not known.
    """
    paths = sorted(_folder().glob("*.json"))
    if name is None:
        return _read(paths[0]) if len(paths) == 1 else None
    path = _folder() / f"{slug(name)}.json"
    if path not in paths:
        known = ", ".join(_read(each).name for each in paths)
        raise HearingError(
            f"there is no voice called {name!r}",
            do=f"name one of {known}" if known else "make one with callout voice",
        )
    return _read(path)


def _folder() -> Path:
    return user_data() / "voices"


def _read(path: Path) -> KnownVoice:
    remedy = "delete it, and make it again with callout voice"
    try:
        return KnownVoice.model_validate_json(read_text(path, remedy))
    except ValidationError as error:
        raise HearingError("this is not a mechanic's voice", where=str(path), do=remedy) from error
