"""Playing notes back, one by one, each introduced by what it is, when and where it was made.

While notes are being played, "next", "again", "slower" and "stop" are about them; any other command
ends the playing and does its own work.
"""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.names import together
from assistant.dialogue.noting import tie_of
from assistant.dialogue.numbers import value_of
from assistant.dialogue.reply import Line, PlayNote
from assistant.dialogue.turn import Handler, Turn
from assistant.job.events import NotesListed
from assistant.job.state import Note
from assistant.procedure.route import Route

SLOWER_BY: Final = 1.25
SLOWEST: Final = 0.5

_PART: Final = 60
"""How many words of a typed note are read in one breath: 24 seconds, at two and a half words a second."""


def on_notes_play(turn: Turn, intent: Intent) -> None:
    """Begin to play notes: all, the last one, those of this step or another, of yesterday, or on a thing."""
    notes = tuple(note.number for note in _wanted(turn, intent))
    if not notes:
        turn.say("note.none" if not intent.slots else "note.none-such")
        leave(turn)
        return
    if len(notes) > 1:
        turn.say("note.count", count=len(notes))
    _play(turn, notes, 0, 1.0)


def _wanted(turn: Turn, intent: Intent) -> tuple[Note, ...]:
    notes = tuple(note for note in turn.state.notes if note.seconds is not None)
    if "thing" in intent.slots:
        return tuple(note for note in notes if _is_about(turn, note, intent.slots["thing"]))
    if "step" in intent.slots:
        number = int(value_of(intent.slots["step"]))
        return tuple(note for note in notes if note.step and turn.step_number(note.step) == number)
    return _WHICH[intent.slots.get("which", "")](turn, notes)


def _is_about(turn: Turn, note: Note, thing: str) -> bool:
    """Tell whether a note is on a thing, or was made at a step that works on it."""
    tie = tie_of(turn, thing)
    step = turn.route.step(note.step)
    if "group" in tie:
        at_it = step.tighten is not None and step.tighten.group == tie["group"] and not note.part
        return note.group == tie["group"] or (at_it and not note.group)
    parts = {tie["part"], *together(turn.route).get(tie["part"], ())}
    moved = {*step.use, *step.put_in, *step.take_out, *step.take_off, *step.put_back}
    return note.part in parts or (bool(parts & moved) and not note.part and not note.group)


def _yesterday(turn: Turn, notes: tuple[Note, ...]) -> tuple[Note, ...]:
    return tuple(note for note in notes if _days_ago(turn.now, note.at) == 1)


def _here(turn: Turn, notes: tuple[Note, ...]) -> tuple[Note, ...]:
    return tuple(note for note in notes if note.step == turn.step.step)


Choice = Callable[[Turn, tuple[Note, ...]], tuple[Note, ...]]
_WHICH: Final[Mapping[str, Choice]] = {
    "": lambda _turn, notes: notes,
    "last note": lambda _turn, notes: notes[-1:],
    "notes for this step": _here,
    "notes from yesterday": _yesterday,
    "from yesterday": _yesterday,
}


def _days_ago(now: datetime, at: datetime) -> int:
    """Count midnights between two times, on the clock of the first one's zone."""
    return (now.date() - at.astimezone(now.tzinfo).date()) // timedelta(days=1)


def _play(turn: Turn, notes: tuple[int, ...], place: int, pace: float, part: int = 0) -> None:
    """Play the note at a place of a list, introduced; of a long typed one a part, and how to hear the rest."""
    note = turn.state.notes[notes[place] - 1]
    turn.record(NotesListed(notes=notes, place=place, part=part, pace=pace))
    if part == 0:
        turn.add(introduced(turn.route, note, turn.now))
    if note.typed:
        parts = _in_parts(note.text)
        for text in parts[part : part + 1]:
            turn.say("note.text", text=text)
        if part + 1 < len(parts):
            turn.say("note.goes-on")
    else:
        turn.add(PlayNote(note.file, pace))
    turn.passing = True


def _in_parts(text: str) -> tuple[str, ...]:
    """Cut a text into parts of one breath each; of one that was corrected to nothing there is none."""
    words = text.split()
    return tuple(" ".join(words[at : at + _PART]) for at in range(0, len(words), _PART))


def content(note: Note) -> Line | PlayNote:
    """Give what a note says, whole: its sound, or where it was typed, and has none, its text."""
    return Line("note.text", {"text": note.text}) if note.typed else PlayNote(note.file)


def introduced(route: Route, note: Note, now: datetime) -> Line:
    """Say what a note is, when and where it was made, before it is played."""
    what = Line(f"note.matter.{note.matter}", {"number": note.number})
    where = _where(route, note)
    return Line("note.intro", {"what": what, "when": _when(now, note.at), "where": where})


def _when(now: datetime, at: datetime) -> Line:
    days, local = _days_ago(now, at), at.astimezone(now.tzinfo)
    key = {0: "when.today", 1: "when.yesterday"}.get(days, "when.days")
    if local.minute == 0:
        minute = Line("when.full-hour")
    else:
        minute = Line("when.few" if local.minute <= _LAST_FIGURE else "when.minute", {"minute": local.minute})
    return Line(key, {"days": days, "hour": local.hour, "minute": minute})


_LAST_FIGURE: Final = 9


def _where(route: Route, note: Note) -> Line:
    step = {"step": route.place(note.step) + 1}
    if note.position is not None:
        group = route.procedure.groups[note.group].spoken
        return Line("where.position", {**step, "group": group, "position": note.position})
    if note.label:
        return Line("where.label", {**step, "label": note.label})
    thing = route.procedure.groups[note.group].spoken if note.group else note.part
    return Line("where.thing", {**step, "thing": thing}) if thing else Line("where.step", step)


def on_next(turn: Turn, _intent: Intent) -> None:
    """Play the rest of a note that was cut, else the note that follows; after the last one the playing is over."""
    listing = turn.state.listing
    assert listing is not None, "no notes are being played"  # noqa: S101
    note = turn.state.notes[listing.notes[listing.place] - 1]
    if note.typed and listing.part + 1 < len(_in_parts(note.text)):
        _play(turn, listing.notes, listing.place, listing.pace, listing.part + 1)
    elif listing.place + 1 < len(listing.notes):
        _play(turn, listing.notes, listing.place + 1, listing.pace)
    else:
        leave(turn)
        turn.say("note.no-more")


def on_again(turn: Turn, _intent: Intent) -> None:
    """Play the same note once more."""
    listing = turn.state.listing
    assert listing is not None, "no notes are being played"  # noqa: S101
    _play(turn, listing.notes, listing.place, listing.pace, listing.part)


def on_slower(turn: Turn, _intent: Intent) -> None:
    """Play the same note once more, slower, and those that follow too."""
    listing = turn.state.listing
    assert listing is not None, "no notes are being played"  # noqa: S101
    _play(turn, listing.notes, listing.place, max(SLOWEST, round(listing.pace / SLOWER_BY, 3)), listing.part)


def on_stop(turn: Turn, _intent: Intent) -> None:
    """End the playing."""
    leave(turn)
    turn.effect("hush")
    turn.say("note.stopped")


def leave(turn: Turn) -> None:
    """End the playing, where there is one."""
    if turn.state.listing is not None:
        turn.record(NotesListed())


HANDLERS = {"notes-play": on_notes_play}

WHILE_PLAYING: Final[Mapping[str, Handler]] = {
    "next": on_next,
    "repeat": on_again,
    "slower": on_slower,
    "stop": on_stop,
}
"""What these mean while notes are being played."""

BESIDE_PLAYING: Final = frozenset(
    {
        "tick",
        "not-understood",
        "let-be",
        "not-here",
        "too-long",
        "quiet",
        "louder",
        "softer",
        "faster",
        "help",
        "notes-play",
    }
)
"""What leaves the playing as it is; anything else ends it first."""
