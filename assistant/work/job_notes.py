"""The notes of a job outside the work: written down, put right, played, taken elsewhere."""

import re
import shutil
from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Final

from assistant.dialogue.phrasing import Phrasebook
from assistant.dialogue.playing import introduced
from assistant.dialogue.reply import PlayNote
from assistant.errors import AssistantError, RecordError
from assistant.hearing.detecting import Detector, SileroDetector
from assistant.hearing.dictation import Writer
from assistant.hearing.sources import BLOCK
from assistant.job.events import Event, NoteCorrected, NoteTranscribed
from assistant.job.fold import replay
from assistant.job.folder import JobFolder
from assistant.job.state import JobState, Note
from assistant.notes.recorder import read_note, recover
from assistant.procedure.route import Route
from assistant.record.model import Record
from assistant.record.tables import notes as notes_table
from assistant.sound import RATE, Samples
from assistant.speaking.mouth import Mouth
from assistant.work.note_taking import PREROLL_S

_END_WORDS: Final = re.compile(r"[\s,;]*\bend (of )?note\W*$", re.IGNORECASE)
"""What ends a note is no part of what it says; said in one breath with it, it is in its sound."""

_SPEECH: Final = 0.5
"""A block at least this likely is speech, as when utterances are cut out."""
_PAUSE_BLOCKS: Final = 4
"""So many blocks of quiet, 0.13 s, are a pause: a command is known to be over after 0.15 s at the least."""


def keep_cut_off(jobs_dir: Path, job: str) -> None:
    """Make whole the sound of a note that a program that died was recording.

    Nothing is done while a program works on the job, or where the disk refuses: reading goes on as it can.
    """
    with suppress(AssistantError), JobFolder.open(jobs_dir, job) as folder:
        recover(folder.sound)


def chosen(state: JobState, numbers: Sequence[int]) -> tuple[Note, ...]:
    """Give the notes with these numbers, or all where none is named. Raises RecordError for one that is not there."""
    known = {note.number: note for note in state.notes}
    for number in numbers:
        if number not in known:
            have = f"it has 1 to {len(known)}" if known else "it has none"
            raise RecordError(f"the job has no note {number}", do=have)
    return tuple(known[number] for number in numbers) or state.notes


def write_down(
    folder: JobFolder, numbers: Sequence[int], writer: Writer, now: datetime
) -> Iterator[tuple[int, str]]:
    """Have notes written down, and give each number with its text, which is then in the journal.

    Without numbers it is those that have no text yet; a text that somebody corrected is written again
    only where its number is named.
    """
    state, detector = replay(folder.journal.entries()), SileroDetector()
    for note in chosen(state, numbers):
        without_sound = note.seconds is None and not (folder.sound / note.file).is_file()
        if without_sound or (not numbers and note.text):
            continue
        samples = read_note(folder.sound / note.file).at(RATE).samples
        if len(samples) < BLOCK:  # a typed note has no sound, and its text is not to be lost
            continue
        written = writer.write_down(samples[begins_at(samples, detector) :])
        words = _END_WORDS.sub("", written)
        _append(
            folder,
            now,
            NoteTranscribed(note=note.number, words=words, engine=writer.name, rough=writer.rough),
        )
        yield note.number, words


def begins_at(samples: Samples, detector: Detector) -> int:
    """Say at which sample of a note its text begins: after the rest of the words that began it.

    The half second before a note mostly holds the end of "take a note", then the pause by which it was known
    to be over; written down, that rest would read "No." before what was noted. Where there is no such pause,
    the text begins with the sound. `samples` have shape (n,), float32, 16,000 a second.
    """
    detector.reset()
    spoken = quiet = 0
    for start in range(0, min(len(samples), round(PREROLL_S * RATE)) - BLOCK + 1, BLOCK):
        is_speech = detector.probability(samples[start : start + BLOCK]) >= _SPEECH
        spoken, quiet = spoken + is_speech, 0 if is_speech else quiet + 1
        if spoken and quiet >= _PAUSE_BLOCKS:
            return start
    return 0


def correct(folder: JobFolder, number: int, words: str, *, who: str, now: datetime) -> None:
    """Put the text of a note right. Raises RecordError where there is no such note."""
    chosen(replay(folder.journal.entries()), (number,))
    _append(folder, now, NoteCorrected(note=number, words=words, who=who))


def _append(folder: JobFolder, now: datetime, event: Event) -> None:
    turn = replay(folder.journal.entries()).turn + 1
    folder.journal.append(turn, now, (event,))


def play(
    route: Route,
    folder: JobFolder,
    notes: Sequence[Note],
    mouth: Mouth,
    book: Phrasebook,
    *,
    now: datetime,
    pace: float,
) -> None:
    """Play notes one after another, each introduced by what it is, when and where it was made."""
    pieces: list[str | PlayNote] = []
    for note in notes:
        said = book.words(introduced(route, note, now))
        pieces += [f"{said} {note.text}"] if note.typed else [said, PlayNote(note.file, pace)]
    mouth.say(pieces, tone=None, loudness=1.0, pace=1.0, sound=folder.sound)


def export(folder: JobFolder, record: Record, notes: Sequence[Note], out: Path) -> Iterator[Path]:
    """Copy the sound of notes into a folder, and beside it a table of when, where, and what they say."""
    try:
        out.mkdir(parents=True, exist_ok=True)
        for note in notes:
            source = folder.sound / note.file
            if source.is_file():
                yield Path(shutil.copyfile(source, out / note.file))
        numbers = {note.number for note in notes}
        rows = tuple(row for row in record.notes if row.note in numbers)
        table = out / "notes.csv"
        table.write_bytes(notes_table(record.model_copy(update={"notes": rows})).csv().encode())
    except OSError as error:
        raise RecordError(
            f"the notes cannot be written here ({error.strerror})", where=str(out), do="choose another folder"
        ) from error
    yield table
