"""Spoken notes: begun and ended by voice, played back by voice; the sound itself is kept by `notes`."""

from datetime import datetime

from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import PlayNote
from assistant.dialogue.turn import Turn
from assistant.job.events import NoteBegun, NoteEnded


def on_note(turn: Turn, _intent: Intent) -> None:
    """Begin a note at once; only a tone answers, so that nothing is spoken into it."""
    number = len(turn.state.notes) + 1
    turn.record(NoteBegun(note=number, file=f"note-{number:04d}.flac", step=turn.step.step))
    turn.tone("recorded")
    turn.effect("begin-note")


def on_note_end(turn: Turn, _intent: Intent) -> None:
    """End the note that is being recorded."""
    if turn.state.open_note is None:
        turn.say("note.none-open")
        return
    end_note(turn, turn.now)
    turn.effect("end-note")
    turn.tone("recorded")
    turn.say("note.kept", number=len(turn.state.notes))


def end_note(turn: Turn, at: datetime) -> None:
    """Record that the open note ended at a time."""
    note = turn.state.open_note
    assert note is not None, "no note is open"  # noqa: S101
    turn.record(NoteEnded(note=note.number, seconds=max(0.0, (at - note.at).total_seconds())))


def on_notes_play(turn: Turn, _intent: Intent) -> None:
    """Play all notes, each introduced by its number and step."""
    notes = [note for note in turn.state.notes if note.seconds is not None]
    if not notes:
        turn.say("note.none")
    for note in notes:
        turn.say("note.intro", number=note.number, step=turn.step_number(note.step))
        turn.add(PlayNote(note.file))


HANDLERS = {"note": on_note, "note-end": on_note_end, "notes-play": on_notes_play}
