"""From a job's folder to the files of its record; the same folder gives the same bytes."""

import errno
import hashlib
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, TypeVar

from assistant.errors import AssistantError, RecordError
from assistant.job.events import JobOpened
from assistant.job.folder import JobFolder
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import route_through
from assistant.record.gather import gather
from assistant.record.model import Note, Picture, Record
from assistant.record.pdf import print_pdf
from assistant.record.render import draw_groups, picture_path, render, sound_path
from assistant.record.tables import tables
from assistant.record.wrenches import read_shop
from assistant.sound import read_sound

TABLES: Final = "tables"
"""The folder of the CSV files."""

K = TypeVar("K", Note, Picture)

_FULL: Final = frozenset({errno.ENOSPC, errno.EDQUOT})


def write_record(folder: JobFolder, out: Path) -> tuple[Path, ...]:
    """Write the record as HTML, PDF, JSON and CSV, with the sound and pictures, into the folder `out`; give the paths.

    What is there already is replaced, each file whole or not at all. Raises RecordError where
    nothing is recorded yet or `out` cannot be written, JobError or ProcedureError where the job
    cannot be read.
    """
    entries = tuple(folder.journal.entries())
    opened = next((entry.event for entry in entries if isinstance(entry.event, JobOpened)), None)
    procedure = parse_procedure(folder.procedure_text, name=str(folder.path / "procedure.yaml"))
    shop = read_shop(folder.shop_text, str(folder.path / "shop.yaml"))
    route = route_through(procedure, opened.route if opened else "", shop)
    beside, record = _with_files(folder, gather(route, entries, folder.journal.seal))
    drawings = draw_groups(route, record)
    files = {
        out / "record.html": render(drawings, record).encode(),
        out / "record.pdf": print_pdf(record, drawings, folder.pictures),
        out / "record.json": f"{record.model_dump_json(indent=2)}\n".encode(),
        **{out / TABLES / f"{table.name}.csv": table.csv().encode() for table in tables(record)},
    }
    with _explained(out):
        # Sound and pictures first, so that a page never speaks of what is not there.
        copied = [_put(out / place, source.read_bytes()) for place, source in beside.items()]
        return (*(_put(path, text) for path, text in files.items()), *copied)


def _with_files(folder: JobFolder, record: Record) -> tuple[dict[str, Path], Record]:
    """Find the sound of each note and each picture; mark those that are lost, and seal the others."""
    beside: dict[str, Path] = {}
    notes = tuple(_sealed(note, folder.sound, sound_path(note), beside) for note in record.notes)
    pictures = tuple(_sealed(row, folder.pictures, picture_path(row), beside) for row in record.pictures)
    return beside, record.model_copy(
        update={"notes": tuple(map(_timed(folder), notes)), "pictures": pictures}
    )


def _sealed(row: K, folder: Path, place: str, beside: dict[str, Path]) -> K:
    path = folder / Path(place).name
    if not path.is_file():
        return row.model_copy(update={"present": False})
    beside[place] = path
    return row.model_copy(update={"sha256": hashlib.sha256(path.read_bytes()).hexdigest()})


def _timed(folder: JobFolder) -> Callable[[Note], Note]:
    """Give each note the length of its sound, which is truer than the clock that saw it spoken."""

    def timed(note: Note) -> Note:
        if not note.present or note.seconds is None:
            return note
        try:
            seconds = round(read_sound(folder.sound / Path(sound_path(note)).name).seconds, 3)
        except AssistantError:
            return note
        return note.model_copy(update={"seconds": seconds})

    return timed


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
