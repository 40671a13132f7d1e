"""The training, as far as it can be tried in a second; torch is no dependency of the product."""

import numpy as np
import pytest

from assistant.hearing.delta import Model, added

_WHY = "torch trains the delta and is in no requirement: pip install torch"
torch = pytest.importorskip("torch", reason=_WHY)
network = pytest.importorskip("assistant.evaluate.training.network", reason=_WHY)
spelling = pytest.importorskip("assistant.evaluate.training.spelling", reason=_WHY)


def test_what_the_training_adds_is_what_the_product_adds() -> None:
    """Matrices, convolutions and vectors come out the same in torch and in the file that the product writes."""
    rng = np.random.default_rng(1)
    shapes = {
        "encoder/conv1/weight": (4, 3, 3),
        "encoder/conv1/bias": (4,),
        "encoder/layer_0/ffn/linear_0/weight": (4, 4),
        "encoder/layer_norm/gamma": (4,),
    }
    arrays = {name: rng.standard_normal(shape).astype(np.float32) for name, shape in shapes.items()}
    base = Model("WhisperSpec", 3, {**arrays, "encoder/num_heads": np.array(1, np.int16)}, ())
    whisper = network.Whisper(base, rank=2)
    with torch.no_grad():
        for value in whisper.delta.values():
            value.copy_(torch.from_numpy(rng.standard_normal(value.shape)).half().float())
    whisper.refresh()
    kept = {name: array for name, array in whisper.kept().items() if not name.startswith("sounds/")}
    made = added(base, kept).arrays
    for name in shapes:
        assert made[name] == pytest.approx(whisper._now[name].detach().numpy(), abs=0.02)


def test_a_saying_is_spelled_between_its_beginning_and_its_end() -> None:
    """Each token must follow the one before it, the end the last; nothing is asked for where others are longer."""
    names = ("startoftranscript", "en", "transcribe", "notimestamps", "endoftext")
    no = spelling.IGNORED
    tokens, wanted = spelling.spelled([[7, 8], []], dict(zip(names, range(1, 6), strict=True)))
    assert tokens.tolist() == [[1, 2, 3, 4, 7, 8], [1, 2, 3, 4, 0, 0]]
    assert wanted.tolist() == [[no, no, no, 7, 8, 5], [no, no, no, 5, no, no]]
