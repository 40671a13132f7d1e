"""A corpus: a folder of recordings with a manifest that says what each one is.

`manifest.jsonl` holds one JSON object a line. It must have `file` (relative to the folder) and `part`: "speech" (a
command, with its `text`), "talk" (speech that is no command) or "noise". It may have `speaker`, `source`, `licence`,
`kind`, `seconds` and `split`; other keys are let be.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from assistant.errors import HearingError
from assistant.hearing.words import words_of

MANIFEST: Final = "manifest.jsonl"

Part = Literal["speech", "talk", "noise"]


class Clip(BaseModel):
    """One recording of a corpus. `path` is where it lies."""

    model_config = ConfigDict(frozen=True, extra="ignore")

    file: str
    part: Part
    path: Path = Path()
    text: str = ""
    speaker: str = ""
    source: str = ""
    licence: str = ""
    kind: str = ""
    split: str = ""

    @property
    def words(self) -> tuple[str, ...]:
        """The words said, as grammars spell them; none where they were not written down."""
        return words_of(self.text)


class Corpus(BaseModel):
    """The recordings of a folder, in the order of its manifest."""

    model_config = ConfigDict(frozen=True)

    folder: Path
    clips: tuple[Clip, ...]

    def part(self, part: Part) -> tuple[Clip, ...]:
        """Give the recordings of one part."""
        return tuple(clip for clip in self.clips if clip.part == part)


def read_corpus(folder: Path) -> Corpus:
    """Read a corpus. Raises HearingError, with the line, for what is missing or cannot be used."""
    manifest = folder / MANIFEST
    try:
        lines = manifest.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise HearingError(
            f"the manifest cannot be read: {reason}",
            where=str(manifest),
            do=f"name a folder with a {MANIFEST}",
        ) from error
    clips = tuple(_clips(folder, manifest, lines))
    if not clips:
        raise HearingError("the corpus is empty", where=str(manifest), do="list a recording a line")
    return Corpus(folder=folder, clips=clips)


def _clips(folder: Path, manifest: Path, lines: list[str]) -> Iterator[Clip]:
    for number, line in enumerate(lines, start=1):
        if line.strip():
            yield _clip(folder, line, f"{manifest}:{number}")


def _clip(folder: Path, line: str, where: str) -> Clip:
    try:
        given = json.loads(line)
    except ValueError as error:
        raise HearingError("this line is not JSON", where=where) from error
    clip = _checked(given, where)
    path = folder / clip.file
    if not path.is_file():
        raise HearingError(f"there is no file {clip.file!r}", where=where, do="check the path")
    if clip.part == "speech" and not clip.words:
        raise HearingError("speech needs its text", where=where, do='give it, or make it part "talk"')
    return clip.model_copy(update={"path": path})


def _checked(given: Any, where: str) -> Clip:
    known = {name: value for name, value in given.items() if value is not None} if _is_object(given) else {}
    try:
        return Clip.model_validate(known)
    except ValidationError as error:
        first = error.errors()[0]
        name = first["loc"][0]
        raise HearingError(
            f"{name}: {first['msg'].lower()}", where=where, do="see the other lines"
        ) from error


def _is_object(given: Any) -> bool:
    return isinstance(given, dict)
