"""The head that tells sounds, held against its formula written out and against SciPy's exact GELU."""

import hashlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.special import erf, log_softmax

from assistant.errors import HearingError
from assistant.hearing.phone_head import SOUNDS, PhoneHead

WIDTH, HIDDEN, CLASSES, SPAN = 6, 4, 3, 5


def checksum(path: Path) -> str:
    """Give what the account would say of a file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.fixture
def arrays() -> dict[str, np.ndarray[Any, Any]]:
    """Give arrays of a small head, drawn at random."""
    rng = np.random.default_rng(1)
    shapes = {
        "conv/weight": (HIDDEN, WIDTH, SPAN),
        "conv/bias": (HIDDEN,),
        "out/weight": (CLASSES, HIDDEN),
        "out/bias": (CLASSES,),
    }
    return {SOUNDS + name: rng.standard_normal(shape).astype(np.float32) for name, shape in shapes.items()}


def test_it_is_a_convolution_a_gelu_and_a_softmax(
    tmp_path: Path, arrays: dict[str, np.ndarray[Any, Any]]
) -> None:
    """Frame by frame as the formula says; scipy.special has the exact GELU's erf, and log_softmax."""
    np.savez(tmp_path / "head.npz", **arrays)  # type: ignore[arg-type]
    encoded = np.random.default_rng(2).standard_normal((9, WIDTH)).astype(np.float32)
    padded = np.pad(encoded, ((SPAN // 2, SPAN // 2), (0, 0)))
    hidden = np.array(
        [
            np.einsum("hws,sw->h", arrays["sounds/conv/weight"], padded[frame : frame + SPAN])
            + arrays["sounds/conv/bias"]
            for frame in range(9)
        ]
    )
    hidden = hidden * 0.5 * (1 + erf(hidden / np.sqrt(2)))
    expected = log_softmax(hidden @ arrays["sounds/out/weight"].T + arrays["sounds/out/bias"], axis=1)
    path = tmp_path / "head.npz"
    found = PhoneHead(path, checksum(path)).logs(encoded)
    np.testing.assert_allclose(found, expected, atol=5e-3)
    np.testing.assert_allclose(np.exp(found).sum(axis=1), 1, atol=1e-5)


@pytest.mark.parametrize("content", [b"", b"not arrays", b"PK\x03\x04 cut off"])
def test_a_damaged_file_is_refused_in_words(tmp_path: Path, content: bytes) -> None:
    """What cannot be read as the head says where and what to do."""
    path = tmp_path / "head.npz"
    path.write_bytes(content)
    with pytest.raises(HearingError, match=r"head\.npz: .*damaged.*install callout again"):
        PhoneHead(path, checksum(path))


def test_a_file_of_other_arrays_is_refused_in_words(tmp_path: Path) -> None:
    """The delta is no head."""
    path = tmp_path / "head.npz"
    np.savez(path, other=np.zeros(1))
    with pytest.raises(HearingError, match="damaged"):
        PhoneHead(path, checksum(path))


def test_another_head_than_the_one_meant_is_refused_in_words(
    tmp_path: Path, arrays: dict[str, np.ndarray[Any, Any]]
) -> None:
    """One changed number, in a file that is read without a fault, is told from the head of the account."""
    path, other = tmp_path / "head.npz", tmp_path / "other.npz"
    np.savez(path, **arrays)  # type: ignore[arg-type]
    arrays[f"{SOUNDS}out/bias"][0] += 0.5
    np.savez(other, **arrays)  # type: ignore[arg-type]
    with pytest.raises(HearingError, match=r"other\.npz: .*damaged.*install callout again"):
        PhoneHead(other, checksum(path))


def test_a_missing_file_is_refused_in_words(tmp_path: Path) -> None:
    """So is a head that is not there at all."""
    with pytest.raises(HearingError, match="damaged"):
        PhoneHead(tmp_path / "head.npz", "0" * 64)
