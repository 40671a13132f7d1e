"""What is said and heard, asked and answered, and set."""

from collections.abc import Mapping
from typing import Literal

from assistant.job.events.base import JobEvent


class Heard(JobEvent):
    """Something was said to the assistant and acted on."""

    kind: Literal["heard"] = "heard"
    words: str
    intents: tuple[str, ...]
    engine: str = ""
    confidence: float | None = None


class Refused(JobEvent):
    """Sound that was not acted on: too unsure, so it was asked for again; or taken for talk or noise.

    `file` is where its sound was kept in the job's folder, if it was asked to be.
    """

    kind: Literal["refused"] = "refused"
    words: str = ""
    asked_again: bool = True
    file: str = ""


class Replied(JobEvent):
    """What the assistant said, word for word; on disk before it is spoken.

    A passing one ("say again") is not what "repeat" brings back.
    """

    kind: Literal["replied"] = "replied"
    words: str
    passing: bool = False


class Asked(JobEvent):
    """A question was put; it is pending until answered or dropped, through any crash.

    `came_of` is the turn that it came of, where that is an earlier one, as of a question that an undo puts again.
    """

    kind: Literal["asked"] = "asked"
    question: str
    about: Mapping[str, str] = {}
    came_of: int | None = None


class QuestionClosed(JobEvent):
    """The pending question was answered or dropped."""

    kind: Literal["question-closed"] = "question-closed"
    answer: str


class VoiceSet(JobEvent):
    """Loudness and pace of the spoken replies, 1 as usual."""

    kind: Literal["voice-set"] = "voice-set"
    loudness: float
    pace: float
