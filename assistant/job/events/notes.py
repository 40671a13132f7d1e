"""Spoken notes, their playing and their text; pictures."""

from typing import Final, Literal

from assistant.job.events.base import JobEvent

Matter = Literal["note", "fault found", "ask the owner", "for next time", "reason"]
"""What a spoken note is for; one for a reason says why something was done otherwise than the book says."""

Ending = Literal["words", "silence", "cut off"]
"""What ended a note: the words for it, a long silence, or the end of the program."""


class _Tied(JobEvent):
    """Kept beside the journal in `file`, and tied to a step and, where one was named, to a thing.

    The thing is a group, one position of it, a part or tool by its name, or what a label stands on.
    """

    file: str
    step: str
    group: str = ""
    position: int | None = None
    part: str = ""
    label: str = ""


class NoteBegun(_Tied):
    """A spoken note began; its sound is in `file`, in the job's folder of sound."""

    kind: Literal["note-begun"] = "note-begun"
    note: int
    matter: Matter = "note"


class NoteEnded(JobEvent):
    """A spoken note ended; `seconds` is its length as the clock saw it."""

    kind: Literal["note-ended"] = "note-ended"
    note: int
    seconds: float
    by: Ending = "words"


class NotesListed(JobEvent):
    """Notes are being played, one by one: these, and of them now the one at `place`; none ends it.

    A typed note that is too long for one breath is read in parts; `part` is the one that is read now.
    """

    kind: Literal["notes-listed"] = "notes-listed"
    notes: tuple[int, ...] = ()
    place: int = 0
    part: int = 0
    pace: float = 1.0


TYPED: Final = "typed"
"""The engine of a note whose text was typed into it; it has no sound."""


class NoteTranscribed(JobEvent):
    """An engine wrote down what a note says; `rough` where it is known to guess."""

    kind: Literal["note-transcribed"] = "note-transcribed"
    note: int
    words: str
    engine: str
    rough: bool = False


class NoteCorrected(JobEvent):
    """Somebody put the text of a note right; the sound stays what counts."""

    kind: Literal["note-corrected"] = "note-corrected"
    note: int
    words: str
    who: str = ""


class PictureTaken(_Tied):
    """A picture was taken; it is in `file`, in the job's folder of pictures."""

    kind: Literal["picture-taken"] = "picture-taken"
    picture: int
