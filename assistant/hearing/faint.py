"""Speech that is too faint for hearing: it is heard again louder, only to know that it was a command.

Nothing is done on it, since nobody measured how often that would be wrong. But a mechanic who is not heard at all has
to be told; and other people's talk at the far end of the shop, which is as faint, is no command.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from assistant.hearing.endpointing import Ended, Endpointer, Limits, Utterance
from assistant.hearing.floor import loudness
from assistant.hearing.grammar import Grammar
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.sound import Samples

_GAIN_DB: Final = 34.0
"""It brings an active level of -60 dB to the usual -26 dB."""

# By the loudest tenth of speech, which is 4 to 6 dB above its active level. With whisper-shop 9 of 12 sayings of a
# synthetic voice were understood at an active level of -50 dB, 2 of 12 at -55 dB, and at -60 dB few are even found.
_FAINT_DB: Final = -42.0

# Longer than hearing ever waits for speech to go on (`hearing.patience`): by then it is known what that made of it.
_PAUSE_S: Final = 1.2


def _endpointer() -> Endpointer:
    return Endpointer(limits=Limits(pause_s=_PAUSE_S))


@dataclass
class FaintSpeech:
    """Finds commands in what is too faint, block by block; every block of the stream is pushed or skipped."""

    recogniser: Recogniser
    endpointer: Endpointer = field(default_factory=_endpointer)

    def push(
        self, block: Samples, grammar_now: Callable[[], Grammar], *, understood_s: float = 0.0
    ) -> Recognised | None:
        """Take the next block, shape (512,), and give what was said too faintly, where it was a command.

        What began before `understood_s`, up to where hearing understood by itself, is not decoded again.
        """
        louder = np.clip(block * np.float32(10 ** (_GAIN_DB / 20)), -1.0, 1.0)
        for event in self.endpointer.push(louder):
            if isinstance(event, Ended) and _is_missed(event.utterance, understood_s):
                heard = self.recogniser.recognise(event.utterance, grammar_now())
                return heard if heard.accepted else None
        return None

    def skip(self) -> None:
        """Let a block pass in which nothing faint could be heard."""
        self.endpointer.flush()
        self.endpointer.skip()


def _is_missed(louder: Utterance, understood_s: float) -> bool:
    return louder.start_s >= understood_s and loudness(louder.speech) < _FAINT_DB + _GAIN_DB
