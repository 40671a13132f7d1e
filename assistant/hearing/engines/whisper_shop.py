"""Whisper base with a delta of this program's own: it hears commands from a list in noise, and refuses all else.

The prompt lists the words of the active grammar. The delta was trained to write the phrase, or nothing at all
where a word of it is not on the list, for talk, and for noise (see assistant/evaluate/training). So the
likelihood of nothing is evidence too. A word that sounds near one of the list is told from it by listening once
more without the list, on the same encoded sound.
"""

import json
import math
import time
from pathlib import Path
from typing import Final

from assistant.hearing import weights
from assistant.hearing.engine import Decoded
from assistant.hearing.engines.whisper import (
    FEWEST_TOKENS,
    TOKENS_A_SECOND,
    WhisperEngine,
    window_for,
)
from assistant.hearing.grammar import Grammar
from assistant.sound import RATE, Samples

_DELTA: Final = Path(__file__).with_name("whisper_shop.npz")
_ACCOUNT: Final = _DELTA.with_suffix(".json")
_MOST_LISTED: Final = 230  # tokens; it was trained with up to 200
_SURE: Final = 20.0  # at most so much, in log, is nothing less likely than the best guess


def missing() -> str:
    """Say nothing where the base weights are here, else what is missing."""
    return weights.missing()


def revision() -> str:
    """Name the delta."""
    return _account()["revision"]


class WhisperShopEngine(WhisperEngine):
    """The same network with the delta added, from a folder of base weights or from where they usually are.

    Raises HearingError where there are none, or they are not those that the delta is for.
    """

    name = "whisper-shop"

    def __init__(self, model: Path | None = None) -> None:
        super().__init__(model)
        self.revision = revision()

    @staticmethod
    def _folder(model: Path | None) -> Path:
        return weights.with_delta(_DELTA, _account()["sha256"], model)

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Decode one utterance. Scores are log probabilities of the whole, among the tokens that may appear.

        The signal "nothing" is how much likelier, in log, nothing at all is than the best guess.
        """
        prepared = self._prepare(grammar)
        started = time.perf_counter()
        most = FEWEST_TOKENS + int(TOKENS_A_SECOND * len(samples) / RATE)
        sound = self._encode(samples, window_for(samples))
        beams = self._within(sound, prepared, most, may_end=True)
        nothing = max((score for tokens, score in beams if not self._words(tokens)), default=-math.inf)
        guesses, _ = self._fold([beam for beam in beams if self._words(beam[0])], grammar)
        best = guesses[0].score if guesses else -_SURE
        return Decoded(
            guesses=guesses,
            free=self._freely(sound, most),
            signals={"nothing": max(-_SURE, min(_SURE, nothing - best))},
            decode_s=time.perf_counter() - started,
        )

    def _spelled(self, grammar: Grammar) -> set[int]:
        return {token for word in grammar.words for token in self._tokens(f" {word}")}

    def _listed(self, grammar: Grammar) -> list[int]:
        """List the words as in the training: those that may come first before the others, nothing between."""
        first = grammar.next_words(())
        words = (*sorted(first), *sorted(grammar.words - first))
        listed = [token for word in words for token in self._tokens(f" {word}")]
        return listed if len(listed) <= _MOST_LISTED else []


def _account() -> dict[str, str]:
    account: dict[str, str] = json.loads(_ACCOUNT.read_text(encoding="utf-8"))
    return account
