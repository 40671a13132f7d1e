"""What a voice must do to be used here: turn words into sound that our own player plays."""

from typing import Protocol

from assistant.sound import Sound


class Voice(Protocol):
    """A speech synthesiser, made by its entry in `speaking.engines`."""

    name: str

    def render(self, words: str, *, pace: float = 1.0) -> Sound:
        """Turn words into sound; `pace` 1 is usual, above it faster. It never plays anything."""
        ...
