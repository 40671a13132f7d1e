"""What all aids to hearing have in common: they look on, and tell what is wrong seldom."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.hearing.endpointing import BLOCK_S
from assistant.hearing.recogniser import Recognised
from assistant.sound import Samples
from assistant.work.conductor import Conductor


class Aid:
    """Looks on at what is heard."""

    def look(self, block: Samples, conductor: Conductor) -> None:
        """Take the next block, shape (512,), and have done what it asks for."""

    def heard(self, heard: Recognised) -> None:
        """Learn from what was heard."""


AGAIN_S: Final = 1800.0
"""What is still wrong after so long is told again."""

REST_S: Final = 300.0
"""What was told, mended, and is wrong again is not told again before so long."""


@dataclass
class Told:
    """Tells what is wrong once: again after it was fine, but not within `rest_s`, and again where it lasts for long."""

    intent: str
    rest_s: float = 0.0
    slots: Mapping[str, str] = field(default_factory=dict)
    _since_s: float = field(default=0.0, init=False)
    _wait_s: float = field(default=0.0, init=False)

    @property
    def is_due(self) -> bool:
        """Whether it would be told if it were wrong now."""
        return self._since_s >= self._wait_s

    def look(self, conductor: Conductor, *, wrong: bool) -> bool:
        """Take the next block's time, and tell where something is wrong and that was not told; give whether it was."""
        self._since_s += BLOCK_S
        is_told = wrong and self.is_due and conductor.tell(Intent(name=self.intent, slots=self.slots))
        if is_told:
            self._since_s, self._wait_s = 0.0, AGAIN_S
        return is_told

    def fine(self) -> None:
        """Let it be told again when it is wrong again."""
        self._wait_s = min(self._wait_s, self.rest_s)


TOGETHER_S: Final = 60.0
"""Two commands missed within this time, with nothing understood between them, are no chance."""


@dataclass
class Missed:
    """Commands that were missed, with nothing understood since; each counts for a while."""

    now_s: float = field(default=0.0, init=False)
    _at_s: list[float] = field(default_factory=list, init=False)

    @property
    def is_no_chance(self) -> bool:
        """Whether there are two of them together."""
        return len(self._at_s) > 1

    def pass_block(self) -> None:
        """Let the next block's time pass."""
        self.now_s += BLOCK_S
        self._at_s = [at for at in self._at_s if self.now_s - at <= TOGETHER_S]

    def add(self) -> None:
        """Count one more."""
        self._at_s.append(self.now_s)

    def forget(self) -> None:
        """Begin anew: something was understood, or it was told."""
        self._at_s = []
