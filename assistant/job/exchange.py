"""A journal as lines of text, to be taken elsewhere, and back again as the very same journal.

The first line says which job it is and holds the procedure and the shop's list that it started from;
each other line is one row of the journal, with its hash. Sound and pictures are files, and are copied.
"""

import hashlib
import json
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Final

from assistant.errors import JobError
from assistant.job import chain
from assistant.job.folder import JobFolder

FORMAT: Final = "callout-journal"
VERSION: Final = 1


def started_hash(folder: JobFolder) -> str:
    """Give the SHA-256 of what a job started from: its procedure, and the list of tools where there was one."""
    return hashlib.sha256(f"{folder.started_text}\0{folder.shop_text or ''}".encode()).hexdigest()


def lines_of(folder: JobFolder) -> Iterator[str]:
    """Give a job's journal as lines of JSON, each with its end. Raises JobError where the journal is not whole."""
    head = {
        FORMAT: VERSION,
        "job": folder.name,
        "procedure": folder.started_text,
        "shop": folder.shop_text,
    }
    yield _line(head)
    for row in folder.journal.rows():
        yield _line(row._asdict())


def _line(values: dict[str, Any]) -> str:
    return json.dumps(values, ensure_ascii=False, separators=(",", ":")) + "\n"


def job_of(lines: Iterable[str], jobs_dir: Path, *, name: str | None, where: str) -> JobFolder:
    """Make a job of such lines, under its own name or another, and open it.

    Raises JobError, naming the line of `where`, for what is no such line or breaks the chain of hashes,
    and where the job is there already; nothing is left behind then.
    """
    numbered = iter(enumerate(lines, start=1))
    head = _parsed(next(numbered, (1, ""))[1], f"{where}, line 1")
    if head.get(FORMAT) != VERSION or not isinstance(head.get("procedure"), str):
        raise JobError("this is not an exported journal", where=where, do="give what callout export wrote")
    rows = tuple(_row(line, f"{where}, line {number}") for number, line in numbered if line.strip())
    fault = next((fault for _, fault in chain.broken(rows) if fault is not None), None)
    if fault is not None:
        raise JobError(f"entry {fault} is missing or altered", where=where, do="export the journal again")
    for row in rows:
        chain.entry(row)  # what cannot be read is told before anything is made
    folder = JobFolder.create(jobs_dir, name or str(head["job"]), head["procedure"], head.get("shop"))
    try:
        folder.journal.restore(rows)
    except BaseException:
        folder.close()
        shutil.rmtree(folder.path)
        raise
    return folder


def _parsed(line: str, where: str) -> dict[str, Any]:
    try:
        values = json.loads(line)
    except ValueError as error:
        raise JobError("this is not a line of JSON", where=where, do="export the journal again") from error
    if not isinstance(values, dict):
        raise JobError("this is not an entry", where=where, do="export the journal again")
    return values


def _row(line: str, where: str) -> chain.Row:
    values = _parsed(line, where)
    try:
        return chain.Row(**values)
    except TypeError as error:
        raise JobError("this is not an entry", where=where, do="export the journal again") from error
