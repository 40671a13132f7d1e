"""Whether a job is whole: its journal, what lies beside it, and whether a record is of it."""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from assistant.errors import AssistantError, RecordError
from assistant.job.events import JobOpened
from assistant.job.exchange import started_hash
from assistant.job.fold import replay
from assistant.job.folder import JobFolder
from assistant.job.state import Note
from assistant.record.model import Record
from assistant.record.write import not_as_made
from assistant.sound import read_sound


@dataclass(frozen=True)
class Findings:
    """What was found, a line each; `clean` where nothing is wrong."""

    lines: tuple[str, ...]
    clean: bool


def findings(folder: JobFolder, record_folder: Path | None) -> Findings:
    """Walk a job's journal and look for its sound and pictures; hold a record against them, if one is named.

    Raises RecordError where there is no record in that folder.
    """
    fault = folder.journal.verify()
    if fault is not None:
        return Findings(
            (f"The journal is NOT whole: entry {fault} is missing, altered or unreadable.",), clean=False
        )
    hashes = [row.hash for row in folder.journal.rows()]
    lines = [f"The journal is whole: {len(hashes)} entries, the last with the hash {folder.journal.seal}."]
    wrong = [*_exchanged(folder), *_lost(folder)]
    if record_folder is not None:
        record = _record_in(record_folder)
        right, more = _against(record, hashes, folder)
        lines += right
        wrong += more
        if not wrong and record.journal.hash == hashes[-1] and record_folder.is_dir():
            right, more = _files_against(folder, record_folder)
            lines += right
            wrong += more
    return Findings((*lines, *wrong), clean=not wrong)


def _exchanged(folder: JobFolder) -> Iterator[str]:
    """Say so where the procedure or the list of tools is not what the journal was begun on."""
    begun = (entry.event for entry in folder.journal.entries() if isinstance(entry.event, JobOpened))
    sealed = next(begun, None)
    if sealed and sealed.started_hash and sealed.started_hash != started_hash(folder):
        yield "The procedure or the shop's tools in the job's folder are NOT what the job began with."


def _lost(folder: JobFolder) -> Iterator[str]:
    state = replay(folder.journal.entries())
    yield from lost_sound(folder, state.notes)
    for picture in state.pictures:
        if not (folder.pictures / picture.file).is_file():
            yield f"Picture {picture.number} ({picture.file}) is MISSING."


def lost_sound(folder: JobFolder, notes: Iterable[Note]) -> Iterator[str]:
    """Say of each note whose sound is lost that it is; one that is still being spoken has none yet."""
    for note in notes:
        fault = _fault_of(folder.sound / note.file) if note.seconds is not None else ""
        if fault:
            yield f"The sound of note {note.number} ({note.file}) {fault}."


def _fault_of(sound: Path) -> str:
    """Say what is wrong with the sound of a note; "" for nothing."""
    if not sound.is_file():
        return "is MISSING"
    try:
        read_sound(sound)
    except AssistantError:
        return "can NOT be read"
    return ""


def _record_in(folder: Path) -> Record:
    path = folder / "record.json" if folder.is_dir() else folder
    try:
        return Record.model_validate_json(path.read_bytes())
    except OSError as error:
        raise RecordError("there is no record here", where=str(path), do="name the folder of one") from error
    except ValidationError as error:
        raise RecordError(
            "this is not a record", where=str(path), do="write it again: callout record"
        ) from error


def _against(record: Record, hashes: list[str], folder: JobFolder) -> tuple[list[str], list[str]]:
    """Hold a record against the journal; give what is right and what is wrong."""
    made = record.journal.entries
    if not 0 < made <= len(hashes) or hashes[made - 1] != record.journal.hash:
        ends = (
            f": it was made at entry {made}, and the journal ends at {len(hashes)}"
            if made > len(hashes)
            else ""
        )
        return [], [f"The record is NOT of this journal{ends}."]
    since = len(hashes) - made
    right = [
        f"The record is of this journal, made at entry {made}"
        + (f", {since} before its end." if since else ".")
    ]
    return right, list(_altered(record, folder))


def _files_against(folder: JobFolder, record_folder: Path) -> tuple[list[str], list[str]]:
    """Hold the files of a record against what the journal gives; give what is right and what is wrong."""
    altered = not_as_made(folder, record_folder)
    if altered is None:
        what = "record.json is not what this program makes of the journal"
        return [f"{what}: it was altered, or another version wrote it. Its files were not compared."], []
    return [], [f"{place} is NOT what this journal gives." for place in altered]


def _altered(record: Record, folder: JobFolder) -> Iterator[str]:
    kept = [(f"The sound of note {row.note}", folder.sound, row) for row in record.notes]
    pictures = [(f"Picture {row.picture}", folder.pictures, row) for row in record.pictures]
    for what, home, row in (*kept, *pictures):
        path = home / Path(row.file).name
        if row.sha256 and path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() != row.sha256:
            yield f"{what} ({row.file}) is NOT what it was when the record was made."
