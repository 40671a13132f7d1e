"""A small delta on the weights of Whisper: how it is read, added, and written where CTranslate2 takes it.

CTranslate2's model.bin, version 6, is a plain list of named arrays (the layout is that of its own
`Model.load` and of its converters' `ModelSpec.save`): a number of the version, a name and a number of the
specification, then for each array its name, shape, type and bytes, then the names that stand for others.
A delta holds for a matrix W the factors "W:up" (n, r) and "W:down" (r, m), whose product is added, and for
a vector "W:add" what is added to it. A convolution (n, channels, taps) counts as a matrix of m = channels x taps.
"""

import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Final

import numpy as np
import numpy.typing as npt

from assistant.errors import HearingError

Array = npt.NDArray[Any]

VERSION: Final = 6
UP: Final = ":up"
DOWN: Final = ":down"
ADD: Final = ":add"
_MATRIX: Final = 2  # dimensions

_TYPES: Final = (np.float32, np.int8, np.int16, np.int32, np.float16)
"""By the number that stands in the file."""


@dataclass(frozen=True)
class Model:
    """What a model.bin holds: its specification, its arrays by name in their order, and further names of them."""

    name: str
    revision: int
    arrays: Mapping[str, Array]
    aliases: tuple[tuple[str, str], ...]


def read_model(path: Path) -> Model:
    """Read a model.bin. Raises HearingError where it is not one of version 6."""
    with path.open("rb") as file:
        (version,) = _numbers(file, "I")
        if version != VERSION:
            raise HearingError(f"this is not a model.bin of version {VERSION}", where=str(path))
        name = _text(file)
        revision, count = _numbers(file, "II")
        arrays = dict(_array(file) for _ in range(count))
        (further,) = _numbers(file, "I")
        return Model(name, revision, arrays, tuple((_text(file), _text(file)) for _ in range(further)))


def write_model(model: Model, path: Path) -> None:
    """Write a model.bin, to the byte as `read_model` found it where nothing was changed."""
    with path.open("wb") as file:
        file.write(struct.pack("<I", VERSION) + _as_text(model.name))
        file.write(struct.pack("<II", model.revision, len(model.arrays)))
        for name, array in model.arrays.items():
            file.writelines(_as_array(name, array))
        file.write(struct.pack("<I", len(model.aliases)))
        for pair in model.aliases:
            file.writelines(map(_as_text, pair))


def added(model: Model, delta: Mapping[str, Array]) -> Model:
    """Add a delta to the arrays it names; each keeps its type.

    Raises HearingError where it names an array that is not there, or does not fit it.
    """
    arrays = dict(model.arrays)
    for name in sorted({key.rsplit(":", 1)[0] for key in delta}):
        if name not in arrays:
            raise HearingError(f"the delta is for other weights: they have no {name}")
        change, array = _change(name, delta), arrays[name]
        if change.shape != (array.reshape(len(array), -1) if array.ndim > _MATRIX else array).shape:
            raise HearingError(f"the delta is for other weights: {name} has another shape")
        arrays[name] = (array.astype(np.float32) + change.reshape(array.shape)).astype(array.dtype)
    return Model(model.name, model.revision, arrays, model.aliases)


def _change(name: str, delta: Mapping[str, Array]) -> Array:
    if name + ADD in delta:
        return delta[name + ADD].astype(np.float32)
    return np.asarray(delta[name + UP].astype(np.float32) @ delta[name + DOWN].astype(np.float32))


def _numbers(file: IO[bytes], form: str) -> tuple[Any, ...]:
    size = struct.calcsize(f"<{form}")
    return struct.unpack(f"<{form}", file.read(size))


def _text(file: IO[bytes]) -> str:
    (length,) = _numbers(file, "H")
    return file.read(length).rstrip(b"\0").decode()


def _as_text(text: str) -> bytes:
    raw = text.encode() + b"\0"
    return struct.pack("<H", len(raw)) + raw


def _array(file: IO[bytes]) -> tuple[str, Array]:
    name = _text(file)
    (rank,) = _numbers(file, "B")
    shape = _numbers(file, f"{rank}I")
    kind, size = _numbers(file, "BI")
    return name, np.frombuffer(file.read(size), dtype=_TYPES[kind]).reshape(shape)


def _as_array(name: str, array: Array) -> Iterator[bytes]:
    yield _as_text(name) + struct.pack(f"<B{array.ndim}I", array.ndim, *array.shape)
    yield struct.pack("<BI", [np.dtype(kind) for kind in _TYPES].index(array.dtype), array.nbytes)
    yield array.tobytes()
