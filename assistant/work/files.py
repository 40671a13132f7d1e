"""Small text files read and replaced, with what the system reports told in one line."""

import errno
import os
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from assistant.errors import AssistantError, not_utf8

_FULL: Final = frozenset({errno.ENOSPC, errno.EDQUOT})


def read_text(path: Path, do: str) -> str:
    """Read text in UTF-8; `do` says what to give where it is none. Raises AssistantError."""
    with _explained(path):
        try:
            return path.read_text(encoding="utf-8-sig")
        except FileNotFoundError as error:
            raise AssistantError("there is no such file", where=str(path), do="check the path") from error
        except UnicodeDecodeError as error:
            what, save = not_utf8(error)
            raise AssistantError(what, where=str(path), do=save or do) from error


def change(path: Path, do: str, edit: Callable[[str], str]) -> None:
    """Write a file that somebody else wrote anew, as `edit` makes it, with the line ends that it had."""
    text = read_text(path, do)
    with path.open(encoding="utf-8", newline="") as lines:
        end = "\r\n" if lines.readline().endswith("\r\n") else "\n"
    replace(path, edit(text).replace("\n", end))


def replace(path: Path, text: str) -> None:
    """Write a file under another name, bring it to disk and rename it: whole, or as it was before.

    Raises AssistantError where the system refuses, or there is a folder.
    """
    if path.is_dir():
        raise AssistantError("that is a folder", where=str(path), do="name a file in it")
    draft = path.with_name(f".{path.name}-{uuid.uuid4().hex}")
    with _explained(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            with draft.open("xb") as target:
                target.write(text.encode())
                target.flush()
                os.fsync(target.fileno())
            draft.replace(path)
        finally:
            draft.unlink(missing_ok=True)


@contextmanager
def _explained(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        full = error.errno in _FULL
        what = "the disk is full" if full else f"the system refuses ({error.strerror})"
        do = "free some space and try again" if full else "check the path and its permissions"
        raise AssistantError(what, where=str(path), do=do) from error
