"""The head that tells sounds, held against its formula written out and against SciPy's exact GELU."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.special import erf, log_softmax

from assistant.errors import HearingError
from assistant.hearing.phone_head import SOUNDS, PhoneHead

WIDTH, HIDDEN, CLASSES, SPAN = 6, 4, 3, 5


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
    found = PhoneHead(tmp_path / "head.npz").logs(encoded)
    np.testing.assert_allclose(found, expected, atol=5e-3)
    np.testing.assert_allclose(np.exp(found).sum(axis=1), 1, atol=1e-5)


@pytest.mark.parametrize("content", [b"", b"not arrays", b"PK\x03\x04 cut off"])
def test_a_damaged_file_is_refused_in_words(tmp_path: Path, content: bytes) -> None:
    """What cannot be read as the head says where and what to do."""
    (tmp_path / "head.npz").write_bytes(content)
    with pytest.raises(HearingError, match="damaged"):
        PhoneHead(tmp_path / "head.npz")


def test_a_file_of_other_arrays_is_refused_in_words(tmp_path: Path) -> None:
    """The delta is no head."""
    np.savez(tmp_path / "head.npz", other=np.zeros(1))
    with pytest.raises(HearingError, match="damaged"):
        PhoneHead(tmp_path / "head.npz")
