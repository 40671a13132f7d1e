"""Spoken notes and pictures: begun and ended by voice, tied to what they are about; the files are `notes`'s."""

from collections.abc import Mapping
from typing import Any, Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import value_of
from assistant.dialogue.turn import Turn
from assistant.job.events import Ending, Matter, NoteBegun, NoteEnded, PictureTaken

Ties = dict[str, Any]
"""What a note or picture is about, as fields of its event: group, position, part."""


MATTERS: Final[Mapping[str, Matter]] = {
    "": "note",
    "fault found": "fault found",
    "fault here": "fault found",
    "owner question": "ask the owner",
    "remember this": "for next time",
    "ask the owner": "ask the owner",
    "for next time": "for next time",
}
"""What a note is for, by the words that begin it; one that gives a reason begins with an answer (`answering`)."""


def on_note(turn: Turn, intent: Intent) -> None:
    """Begin a note at once; only a tone answers, so that nothing is spoken into it."""
    ties = _ties(turn, intent)
    if ties is None or turn.state.open_note is not None:
        return
    begin(turn, MATTERS[intent.slots.get("matter", "")], ties)


def begin(turn: Turn, matter: Matter, ties: Ties) -> None:
    """Begin a note at this step."""
    number = len(turn.state.notes) + 1
    named = {"note": number, "file": f"note-{number:04d}.flac", "step": turn.step.step, "matter": matter}
    turn.record(NoteBegun.model_validate({**named, **ties}))
    turn.tone("recorded")
    turn.effect("begin-note")


def _ties(turn: Turn, intent: Intent) -> Ties | None:
    """Find what a note is about; None, and said, where there is no such thing."""
    if "position" in intent.slots:
        return _position(turn, intent.slots["position"])
    if "thing" in intent.slots:
        return tie_of(turn, intent.slots["thing"])
    # At a step that fits one part and does nothing else, a note is about that part.
    used = turn.step.use
    return {"part": used[0]} if len(used) == 1 and turn.step.action == "do" else {}


def _position(turn: Turn, words: str) -> Ties | None:
    if turn.step.action != "tighten":
        turn.say("tighten.not-here")
        return None
    group = turn.route.group(turn.step)
    position = int(value_of(words))
    if position not in group.positions:
        turn.say("position.none", position=position, group=group.spoken, count=group.count)
        return None
    return {"group": group.name, "position": position}


def tie_of(turn: Turn, thing: str) -> Ties:
    """Give what a spoken name stands for: a group, else a part or tool."""
    groups = {group.spoken: name for name, group in turn.route.procedure.groups.items()}
    return {"group": groups[thing]} if thing in groups else {"part": thing}


def on_note_end(turn: Turn, _intent: Intent) -> None:
    """End the note that is being recorded."""
    note = turn.state.open_note
    if note is None:
        turn.say("note.none-open")
        return
    end_note(turn, max(0.0, (turn.now - note.at).total_seconds()), "words")
    turn.effect("end-note")
    _kept(turn)


def on_note_over(turn: Turn, intent: Intent) -> None:
    """End the note into which nothing has been said for a while."""
    if turn.state.open_note is not None:
        end_note(turn, float(intent.slots["seconds"]), "silence")
        _kept(turn)


def _kept(turn: Turn) -> None:
    turn.tone("recorded")
    turn.say("note.kept", number=len(turn.state.notes))


def end_note(turn: Turn, seconds: float, by: Ending) -> None:
    """Record that the open note ended, how long it is, and what ended it."""
    note = turn.state.open_note
    assert note is not None, "no note is open"  # noqa: S101
    turn.record(NoteEnded(note=note.number, seconds=seconds, by=by))


def on_picture_taken(turn: Turn, intent: Intent) -> None:
    """Keep the picture that the camera gave, tied to where the work stands."""
    ties = _ties(turn, intent) or {}
    number = len(turn.state.pictures) + 1
    turn.record(PictureTaken(picture=number, file=intent.slots["file"], step=turn.step.step, **ties))
    turn.tone("recorded")
    turn.say("picture.kept", number=number)


def on_picture_failed(turn: Turn, intent: Intent) -> None:
    """Say that there is no picture, and why."""
    turn.say(f"picture.{intent.slots['why']}")


def on_picture(turn: Turn, _intent: Intent) -> None:
    """Say that there is no camera; where there is one, its door answers in this one's place."""
    turn.say("picture.none")


HANDLERS = {
    "note": on_note,
    "picture": on_picture,
    "picture-taken": on_picture_taken,
    "picture-failed": on_picture_failed,
}
