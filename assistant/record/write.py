"""From a job's folder to the files of its record; the same folder gives the same bytes."""

import errno
import hashlib
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, TypeVar

from assistant.errors import AssistantError, RecordError
from assistant.job.events import JobOpened
from assistant.job.folder import JobFolder
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import Route, route_through
from assistant.record.gather import gather
from assistant.record.model import Note, Picture, Record
from assistant.record.pdf import print_pdf
from assistant.record.render import draw_groups, picture_path, render, sound_path
from assistant.record.tables import tables
from assistant.record.wrenches import read_shop
from assistant.sound import read_sound

_PAGE: Final = "record.html"
_JSON: Final = "record.json"
TABLES: Final = "tables"
"""The folder of the CSV files."""

K = TypeVar("K", Note, Picture)

_FULL: Final = frozenset({errno.ENOSPC, errno.EDQUOT})


def write_record(folder: JobFolder, out: Path, *, one_file: bool = False) -> tuple[Path, ...]:
    """Write the record as HTML, PDF, JSON and CSV, with the sound and pictures, into the folder `out`; give the paths.

    With `one_file` the page holds sound and pictures too, so that it can be passed on by itself.

    What is there already is replaced, each file whole or not at all. Raises RecordError where
    nothing is recorded yet or `out` cannot be written, JobError or ProcedureError where the job
    cannot be read.
    """
    made, beside = _made(folder, one_file=one_file)
    files = {out / place: content for place, content in made.items()}
    with _explained(out):
        # Sound and pictures first, so that a page never speaks of what is not there.
        copied = [_put(out / place, content) for place, content in beside.items()]
        return (*(_put(path, text) for path, text in files.items()), *copied)


def not_as_made(folder: JobFolder, out: Path) -> tuple[str, ...] | None:
    """Name the files of a record, made at the journal's last entry, that are not what the job's folder gives.

    None where that cannot be told, because another version of the program wrote the record. Raises as `write_record`.
    """
    made, beside = _made(folder, one_file=False)
    there = {place: (out / place).read_bytes() for place in made if (out / place).is_file()}
    if there.get(_JSON) != made[_JSON]:
        return None
    route, record = read_record(folder)
    alone = render(draw_groups(route, record), record, beside).encode()
    return tuple(
        place
        for place, content in there.items()
        if content != made[place] and (place, content) != (_PAGE, alone)
    )


def _made(folder: JobFolder, *, one_file: bool) -> tuple[dict[str, bytes], dict[str, bytes]]:
    """Give the files of a record by their places, and those that are copied beside the page."""
    route, record = read_record(folder)
    beside = {place: source.read_bytes() for place, source in _beside(folder, record)}
    drawings = draw_groups(route, record)
    files = {
        _PAGE: render(drawings, record, beside if one_file else {}).encode(),
        "record.pdf": print_pdf(record, drawings, folder.pictures),
        _JSON: f"{record.model_dump_json(indent=2)}\n".encode(),
        **{f"{TABLES}/{table.name}.csv": table.csv().encode() for table in tables(record)},
    }
    return files, beside


def read_record(folder: JobFolder) -> tuple[Route, Record]:
    """Make the record of a job from its folder, and give the route it was worked on. Raises as `write_record`."""
    entries = tuple(folder.journal.entries())
    opened = next((entry.event for entry in entries if isinstance(entry.event, JobOpened)), None)
    procedure = parse_procedure(folder.procedure_text, name=str(folder.path / "procedure.yaml"))
    shop = read_shop(folder.shop_text, str(folder.path / "shop.yaml"))
    route = route_through(procedure, opened.route if opened else "", shop)
    record = gather(route, entries, folder.journal.seal)
    notes = tuple(_timed(folder, _sealed(row, _source(folder, sound_path(row)))) for row in record.notes)
    pictures = tuple(_sealed(row, _source(folder, picture_path(row))) for row in record.pictures)
    return route, record.model_copy(update={"notes": notes, "pictures": pictures})


def _source(folder: JobFolder, place: str) -> Path:
    """Give the file in the job's folder for a place beside the page; both have the same two folders."""
    return folder.path / place


def _beside(folder: JobFolder, record: Record) -> Iterator[tuple[str, Path]]:
    """Give what is copied beside the page: its place there, and where it is."""
    for place in (*map(sound_path, record.notes), *map(picture_path, record.pictures)):
        if _source(folder, place).is_file():
            yield place, _source(folder, place)


def _sealed(row: K, path: Path) -> K:
    """Mark a file that is lost, and seal one that is there with its hash."""
    if not path.is_file():
        return row.model_copy(update={"present": False})
    return row.model_copy(update={"sha256": hashlib.sha256(path.read_bytes()).hexdigest()})


def _timed(folder: JobFolder, note: Note) -> Note:
    """Give a note the length of its sound, which is truer than the clock that saw it spoken.

    One that has no end in the journal was cut off with the program, and has its sound only since.
    """
    if not note.present:
        return note
    try:
        seconds = read_sound(_source(folder, sound_path(note))).seconds
    except AssistantError:
        return note
    return note.model_copy(update={"seconds": round(seconds, 3), "ended_by": note.ended_by or "cut off"})


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
