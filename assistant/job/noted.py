"""The fold of what is kept beside the journal: spoken notes with their text, their playing, pictures."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from assistant.job.events import (
    NoteBegun,
    NoteCorrected,
    NoteEnded,
    NotesListed,
    NoteTranscribed,
    PictureTaken,
)
from assistant.job.events.notes import TYPED
from assistant.job.state import JobState, Kept, Listing, Note


def _note_begun(state: JobState, event: NoteBegun, at: datetime) -> JobState:
    note = Note(number=event.note, matter=event.matter, at=at, **_ties(event))
    return replace(state, notes=(*state.notes, note))


def _note_ended(state: JobState, event: NoteEnded, _at: datetime) -> JobState:
    return _with_note(state, event.note, seconds=event.seconds, ended_by=event.by)


def _transcribed(state: JobState, event: NoteTranscribed, _at: datetime) -> JobState:
    written = {"text": event.words, "written_by": event.engine, "rough": event.rough, "corrected": False}
    return _with_note(state, event.note, **written, typed=event.engine == TYPED)


def _corrected(state: JobState, event: NoteCorrected, _at: datetime) -> JobState:
    return _with_note(state, event.note, text=event.words, written_by=event.who, rough=False, corrected=True)


def _with_note(state: JobState, number: int, **changes: Any) -> JobState:
    notes = (replace(note, **changes) if note.number == number else note for note in state.notes)
    return replace(state, notes=tuple(notes))


def _listed(state: JobState, event: NotesListed, _at: datetime) -> JobState:
    listing = (
        Listing(notes=event.notes, place=event.place, part=event.part, pace=event.pace)
        if event.notes
        else None
    )
    return replace(state, listing=listing)


def _picture(state: JobState, event: PictureTaken, at: datetime) -> JobState:
    return replace(state, pictures=(*state.pictures, Kept(number=event.picture, at=at, **_ties(event))))


def _ties(event: NoteBegun | PictureTaken) -> dict[str, Any]:
    return {name: getattr(event, name) for name in ("file", "step", "group", "position", "part", "label")}


NOTED: Final[Mapping[type, Callable[[JobState, Any, datetime], JobState]]] = {
    NoteBegun: _note_begun,
    NoteEnded: _note_ended,
    NotesListed: _listed,
    NoteTranscribed: _transcribed,
    NoteCorrected: _corrected,
    PictureTaken: _picture,
}
"""What each of these kinds of event does to the state; part of `fold.FOLDS`."""
