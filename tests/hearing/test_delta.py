"""A delta added to a small file of weights."""

import hashlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing import weights
from assistant.hearing.delta import Array, Model, added, read_model, write_model

MATRIX, VECTOR = "encoder/linear/weight", "encoder/norm/beta"


@pytest.fixture
def model() -> Model:
    """Give a matrix, a vector, and a number that no delta touches."""
    arrays: dict[str, Array] = {
        MATRIX: np.arange(6, dtype=np.float16).reshape(2, 3),
        VECTOR: np.ones(3, dtype=np.float32),
        "encoder/num_heads": np.array(8, dtype=np.int16),
    }
    return Model("WhisperSpec", 3, arrays, (("decoder/projection", MATRIX),))


@pytest.fixture
def delta() -> dict[str, Array]:
    """Change the matrix by a product of rank one, and the vector by a sum."""
    return {
        f"{MATRIX}:up": np.array([[1], [2]], dtype=np.float16),
        f"{MATRIX}:down": np.array([[1, 0, -1]], dtype=np.float16),
        f"{VECTOR}:add": np.full(3, 0.5, dtype=np.float16),
    }


def test_a_file_is_written_as_it_was_read(model: Model, tmp_path: Path) -> None:
    """Reading and writing again gives the same bytes."""
    write_model(model, tmp_path / "one.bin")
    write_model(read_model(tmp_path / "one.bin"), tmp_path / "two.bin")
    assert (tmp_path / "one.bin").read_bytes() == (tmp_path / "two.bin").read_bytes()


def test_products_and_sums_are_added(model: Model, delta: dict[str, Array], tmp_path: Path) -> None:
    """Each array gets what belongs to it and keeps its type; the others stay."""
    write_model(added(model, delta), tmp_path / "model.bin")
    found = read_model(tmp_path / "model.bin")
    assert found.arrays[MATRIX].tolist() == [[1, 1, 1], [5, 4, 3]]
    assert found.arrays[VECTOR].tolist() == [1.5, 1.5, 1.5]
    assert found.arrays[MATRIX].dtype == np.float16
    assert int(found.arrays["encoder/num_heads"]) == 8
    assert found.aliases == model.aliases


def test_a_convolution_is_a_matrix_of_its_channels_and_taps(model: Model) -> None:
    """What is added to a convolution (2, 3, 2) is a product (2, 6), in the order in which the array lies."""
    arrays = {"encoder/conv1/weight": np.zeros((2, 3, 2), dtype=np.float32)}
    factors = {
        "encoder/conv1/weight:up": np.array([[1], [2]], dtype=np.float16),
        "encoder/conv1/weight:down": np.arange(6, dtype=np.float16)[None],
    }
    found = added(replace(model, arrays=arrays), factors).arrays["encoder/conv1/weight"]
    assert found.tolist() == [[[0, 1], [2, 3], [4, 5]], [[0, 2], [4, 6], [8, 10]]]


def test_a_delta_for_other_weights_is_refused(model: Model) -> None:
    """An array that is not there, or has another shape, is an error rather than a guess."""
    with pytest.raises(HearingError, match="they have no nowhere"):
        added(model, {"nowhere:add": np.zeros(3)})
    with pytest.raises(HearingError, match="another shape"):
        added(model, {f"{VECTOR}:add": np.zeros(4)})


def test_another_file_is_refused(tmp_path: Path) -> None:
    """A file of another version is told from one of ours."""
    (tmp_path / "model.bin").write_bytes(b"\7\0\0\0 and more")
    with pytest.raises(HearingError, match="version 6"):
        read_model(tmp_path / "model.bin")


def test_the_delta_is_added_once_and_checked(
    model: Model,
    delta: dict[str, Array],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The sum lies in the cache under the delta's checksum; damaged or foreign files are refused."""
    base = tmp_path / "base"
    base.mkdir()
    write_model(model, base / "model.bin")
    for name in ("config.json", "tokenizer.json", "vocabulary.txt"):
        (base / name).write_text("{}")
    given: dict[str, Any] = {**delta}
    np.savez(tmp_path / "delta.npz", **given)
    checksum = hashlib.sha256((tmp_path / "delta.npz").read_bytes()).hexdigest()
    monkeypatch.setattr(weights, "user_cache", lambda: tmp_path / "cache")
    with pytest.raises(HearingError, match="other weights"):
        weights.with_delta(tmp_path / "delta.npz", checksum, base)
    monkeypatch.setattr(weights, "SHA256", hashlib.sha256((base / "model.bin").read_bytes()).hexdigest())
    with pytest.raises(HearingError, match="damaged"):
        weights.with_delta(tmp_path / "delta.npz", "0" * 64, base)
    made = weights.with_delta(tmp_path / "delta.npz", checksum, base)
    assert checksum[:8] in made.name
    assert read_model(made / "model.bin").arrays[VECTOR].tolist() == [1.5, 1.5, 1.5]
