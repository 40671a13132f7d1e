"""The assistant's own voice is taken out of what the microphone hears."""

from collections.abc import Iterator

import numpy as np
import pytest

from assistant.hearing import echo
from assistant.hearing.echo import EchoCanceller, EchoFree
from assistant.hearing.sources import BLOCK
from assistant.sound import RATE, Samples

needs_canceller = pytest.mark.skipif(
    bool(echo.missing()), reason="the extra duplex, with the echo canceller, is not installed"
)
RNG = np.random.default_rng(1)


class Blocks:
    """A source of these samples."""

    def __init__(self, samples: Samples) -> None:
        self._samples = samples

    def blocks(self) -> Iterator[Samples]:
        """Give the blocks."""
        yield from self._samples.reshape(-1, BLOCK)


@needs_canceller
def test_sound_passes_where_nothing_is_played() -> None:
    """What is heard is as it was, 10 ms late."""
    heard = RNG.standard_normal(20 * BLOCK).astype(np.float32) * np.float32(0.1)
    got = np.concatenate(list(EchoFree(Blocks(heard), EchoCanceller()).blocks()))
    assert len(got) == len(heard)
    assert np.array_equal(got[RATE // 100 :], heard[: -RATE // 100])


@needs_canceller
def test_what_is_played_is_taken_out() -> None:
    """The echo of noise with the rhythm of speech, 60 ms late, is 15 dB down once it is known."""
    rhythm = np.repeat(RNG.uniform(0.02, 0.3, 60), RATE // 10)
    voice = (rhythm * RNG.standard_normal(len(rhythm))).astype(np.float32)
    voice = voice[: len(voice) // BLOCK * BLOCK]
    late = np.concatenate([np.zeros(960, np.float32), voice * np.float32(0.3)])[: len(voice)]
    canceller, left = EchoCanceller(), []
    for played, heard in zip(voice.reshape(-1, BLOCK), late.reshape(-1, BLOCK), strict=True):
        canceller.played(played, RATE)
        left.append(canceller.clean(heard))
    before, after = late[3 * RATE :], np.concatenate(left)[3 * RATE :]
    assert 10 * np.log10(np.mean(before**2) / np.mean(after**2)) > 15
