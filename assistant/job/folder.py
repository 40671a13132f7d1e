"""A job is a folder, and one program at a time holds it.

    journal.sqlite   what happened
    procedure.yaml   the procedure as it was when the job started, to the letter
    shop.yaml        the shop's tools as they were then, where there was such a list
    sound/           the spoken notes
    pictures/        the pictures, where some were taken
    name.txt         the job's name as it was given; the folder's own name is made of it
    lock             held while a program works on the job; a program that dies lets go of it

A new folder is made under another name and renamed when it is whole, so a program that is killed
while it makes one leaves nothing that looks like a job. One that is killed before it wrote its first
entry leaves a folder in which nothing has happened: no job either, and a new one is made in it.
"""

import errno
import os
import re
import shutil
import sys
import unicodedata
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from assistant.errors import JobError
from assistant.job.journal import Journal
from assistant.job.revision import text_in_force

LONGEST_NAME: Final = 60
"""Letters in a job's name; with four bytes a letter every file system still takes it."""

_RESERVED: Final = frozenset(
    {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
)
"""Names that Windows keeps for devices."""

_FULL: Final = frozenset({errno.ENOSPC, errno.EDQUOT})

if sys.platform == "win32":
    import msvcrt

    def _take(lock: int) -> None:
        # Far past the holder's number, because what is locked cannot be read by others either.
        os.lseek(lock, 1 << 20, os.SEEK_SET)
        msvcrt.locking(lock, msvcrt.LK_NBLCK, 1)
        os.lseek(lock, 0, os.SEEK_SET)

else:
    import fcntl

    def _take(lock: int) -> None:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)


class JobFolder:
    """An open job: its journal and the files that it started from.

    Made by `create` and `open`; `journal` takes and gives the events, `sound` and `pictures` are folders.
    """

    def __init__(self, path: Path, *, hold: bool = True) -> None:
        """Open the job in the folder `path`, see `open`."""
        self.path = path
        self.name = _name_in(path)
        self.sound = path / "sound"
        self.pictures = path / "pictures"
        self._lock = _hold(path, self.name) if hold else None
        try:
            self.journal = Journal(path / "journal.sqlite", read_only=not hold)
        except BaseException:
            self._let_go()
            raise

    @classmethod
    def create(cls, jobs_dir: Path, name: str, procedure_text: str, shop_text: str | None = None) -> Self:
        """Start a job on a procedure and, where there is one, the list of the shop's tools.

        Raises JobError for a name that cannot be used or is taken, and where the disk refuses.
        """
        path = jobs_dir / slug(name)
        given = {"name.txt": name, "procedure.yaml": procedure_text, "shop.yaml": shop_text}
        files = {file: text for file, text in given.items() if text is not None}
        if path.exists():
            return cls._made_in(path, files)
        with _explained(jobs_dir):
            jobs_dir.mkdir(parents=True, exist_ok=True)
            draft = jobs_dir / f".new-{uuid.uuid4().hex}"
            try:
                _fill(draft, files)
                _rename(draft, path, name)
            finally:
                shutil.rmtree(draft, ignore_errors=True)
        return cls(path)

    @classmethod
    def open(cls, jobs_dir: Path, name: str, *, hold: bool = True) -> Self:
        """Take up a job; with `hold` false only read it, even while another program works on it.

        Raises JobError where there is no such job, another program holds it, or its journal cannot be read.
        """
        path = jobs_dir / slug(name)
        if not path.is_dir():
            there = ", ".join(list_jobs(jobs_dir)) or "none"
            raise JobError(
                f"there is no job {name}", where=str(jobs_dir), do=f"choose one that is there ({there})"
            )
        return cls(path, hold=hold)

    @classmethod
    def _made_in(cls, path: Path, files: dict[str, str]) -> Self:
        """Make a job in a folder that is there, where nothing has happened in it; JobError where it is a job."""
        if not _is_unbegun(path):
            raise _taken(files["name.txt"], path)
        folder = cls(path)
        try:
            folder._start_from(files)
        except BaseException:
            folder.close()
            raise
        return folder

    @property
    def procedure_text(self) -> str:
        """The procedure that the job is worked by: as it was when it started, or a newer one that was taken."""
        return text_in_force(self.journal.entries(), self.started_text)

    @property
    def started_text(self) -> str:
        """The procedure as it was when the job started."""
        return self._text("procedure.yaml")

    @property
    def shop_text(self) -> str | None:
        """The list of the shop's tools as it was then, if there was one."""
        return self._text("shop.yaml") if (self.path / "shop.yaml").exists() else None

    def close(self) -> None:
        """Close the journal and let go of the job."""
        self.journal.close()
        self._let_go()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _start_from(self, files: dict[str, str]) -> None:
        # Another program may have begun it before it was held.
        if not self.journal.is_empty:
            raise _taken(files["name.txt"], self.path)
        with _explained(self.path):
            (self.path / "shop.yaml").unlink(missing_ok=True)
            _write(self.path, files)
        self.name = files["name.txt"]

    def _text(self, file: str) -> str:
        with _explained(self.path / file):
            return (self.path / file).read_bytes().decode()

    def _let_go(self) -> None:
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None


def list_jobs(jobs_dir: Path) -> tuple[str, ...]:
    """Give the names of the jobs in which something has happened, in alphabetical order; none without a folder."""
    if not jobs_dir.is_dir():
        return ()
    with _explained(jobs_dir):
        found = [path for path in jobs_dir.iterdir() if _is_job(path)]
    return tuple(sorted(_name_in(path) for path in found))


def slug(name: str) -> str:
    """Make a folder's name of a job's name: small letters and digits of any script, joined by "-".

    Raises JobError where nothing is left, or the name is too long or a system's own.
    """
    letters = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
    made = re.sub(r"[\W_]+", "-", letters).strip("-")
    if not made or len(made) > LONGEST_NAME:
        raise JobError(
            f"the name {name!r} cannot be used for a job", do=f"give 1 to {LONGEST_NAME} letters and digits"
        )
    if made in _RESERVED:
        raise JobError(f"the name {name!r} is one that some systems keep for themselves", do="choose another")
    return made


def _is_job(path: Path) -> bool:
    named = not path.name.startswith(".") and (path / "journal.sqlite").is_file()
    return named and not _is_unbegun(path)


def _is_unbegun(path: Path) -> bool:
    """Tell whether nothing has happened yet in a job's folder; where its journal cannot be read, something may have."""
    try:
        with Journal(path / "journal.sqlite", read_only=True) as journal:
            return journal.is_empty
    except JobError:
        return False


def _name_in(path: Path) -> str:
    try:
        return (path / "name.txt").read_bytes().decode()
    except (OSError, UnicodeError):
        return path.name


def _fill(draft: Path, files: dict[str, str]) -> None:
    (draft / "sound").mkdir(parents=True)
    Journal.create(draft / "journal.sqlite").close()
    _write(draft, files)


def _write(path: Path, files: dict[str, str]) -> None:
    for file, text in files.items():
        with (path / file).open("wb") as target:
            target.write(text.encode())
            target.flush()
            os.fsync(target.fileno())
    _sync_folder(path)


def _rename(draft: Path, path: Path, name: str) -> None:
    try:
        draft.rename(path)
    except OSError as error:
        # Another program may have made it since; which error that gives differs from system to system.
        if path.exists():
            raise _taken(name, path) from error
        raise
    _sync_folder(path.parent)


def _sync_folder(path: Path) -> None:
    """Put on disk which files a folder has; Windows does so by itself."""
    if sys.platform != "win32":
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _taken(name: str, path: Path) -> JobError:
    return JobError(
        f"there is already a job {_name_in(path)}",
        do=f"take it up with --job '{_name_in(path)}', or name the new one other than {name}",
    )


def _hold(path: Path, name: str) -> int:
    """Take the job for this process; closing the file lets go of it, and so does the end of the process."""
    with _explained(path):
        lock = os.open(path / "lock", os.O_RDWR | os.O_CREAT, 0o666)
    try:
        _take(lock)
    except OSError as error:
        holder = os.read(lock, 20).decode(errors="replace")
        os.close(lock)
        by = f"process {holder}" if holder else "another process"
        raise JobError(
            f"the job {name} is in use by {by}", do="end that one, or start another job"
        ) from error
    with _explained(path):
        os.ftruncate(lock, 0)
        os.write(lock, str(os.getpid()).encode())
    return lock


@contextmanager
def _explained(path: Path) -> Iterator[None]:
    """Turn what the system or a decoder reports into one line that says what to do."""
    try:
        yield
    except OSError as error:
        if error.errno in _FULL:
            what, do = (
                "the disk is full; nothing of what was recorded is lost",
                "free some space and try again",
            )
        else:
            what, do = f"the system refuses ({error.strerror})", "check the path and its permissions"
        raise JobError(what, where=str(path), do=do) from error
    except UnicodeError as error:
        raise JobError("this is not text in UTF-8", where=str(path), do="give plain text") from error
