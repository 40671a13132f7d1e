"""From a job's folder to the files of its record; the same folder gives the same bytes."""

import errno
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from assistant.errors import RecordError
from assistant.job.events import JobOpened
from assistant.job.folder import JobFolder
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import route_through
from assistant.record.gather import gather
from assistant.record.model import Note, Record
from assistant.record.render import render, sound_path

_FULL: Final = frozenset({errno.ENOSPC, errno.EDQUOT})


def write_record(folder: JobFolder, out: Path) -> tuple[Path, ...]:
    """Write record.html, record.json and the notes' sound into the folder `out`; give their paths.

    What is there already is replaced, each file whole or not at all. Raises RecordError where
    nothing is recorded yet or `out` cannot be written, JobError or ProcedureError where the job
    cannot be read.
    """
    entries = tuple(folder.journal.entries())
    opened = next((entry.event for entry in entries if isinstance(entry.event, JobOpened)), None)
    procedure = parse_procedure(folder.procedure_text, name=str(folder.path / "procedure.yaml"))
    route = route_through(procedure, opened.route if opened else "")
    sounds, record = _with_sounds(folder, gather(route, entries))
    files = {
        out / "record.html": render(route, record).encode(),
        out / "record.json": f"{record.model_dump_json(indent=2)}\n".encode(),
    }
    with _explained(out):
        # Sound first, so that a page never speaks of sound that is not there.
        copied = [_put(out / place, source.read_bytes()) for place, source in sounds.items()]
        return (*(_put(path, text) for path, text in files.items()), *copied)


def _with_sounds(folder: JobFolder, record: Record) -> tuple[dict[str, Path], Record]:
    """Find the sound of each note, and mark the notes whose sound is lost."""
    found = {sound_path(note): _sound(folder, note) for note in record.notes}
    notes = tuple(
        note.model_copy(update={"present": found[sound_path(note)].is_file()}) for note in record.notes
    )
    present = {place: path for place, path in found.items() if path.is_file()}
    return present, record.model_copy(update={"notes": notes})


def _sound(folder: JobFolder, note: Note) -> Path:
    return folder.sound / Path(sound_path(note)).name


def _put(path: Path, content: bytes) -> Path:
    """Write a file under another name and rename it, so that a full disk leaves the older one as it was."""
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}-{uuid.uuid4().hex}")
    try:
        draft.write_bytes(content)
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)
    return path


@contextmanager
def _explained(out: Path) -> Iterator[None]:
    """Turn what the system reports into one line that says what to do."""
    try:
        yield
    except OSError as error:
        full = error.errno in _FULL
        what = "the disk is full" if full else f"the record cannot be written here ({error.strerror})"
        do = "free some space and try again" if full else "choose a folder that can be written"
        raise RecordError(f"{what}; the job itself is as it was", where=str(out), do=do) from error
