"""Vosk: a Kaldi decoder fed with the grammar's phrases, or with its words where the phrases are too many.

It makes word pairs of them, so that what comes back need not be a phrase of the grammar; what the
grammar does not accept whole does not count.
"""

import json
import os
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Final
from weakref import WeakKeyDictionary

import numpy as np
import vosk

from assistant.errors import HearingError
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.grammar import Grammar
from assistant.paths import user_data
from assistant.sound import RATE, Samples

ENVIRONMENT: Final = "CALLOUT_VOSK_MODEL"

_OTHER: Final = "[unk]"
_MOST_PHRASES: Final = 300
_FULL_SCALE: Final = 32_767
_ACOUSTIC_MODELS: Final = ("am/final.mdl", "final.mdl")
_MODEL_NAMES: Final = "vosk-model*-en-*"
_QUIET: Final = -1


def missing() -> str:
    """Say nothing where an English model is here, else what is missing."""
    return "" if next(_models(), None) else "there is no English vosk model here"


class VoskEngine:
    """A decoder with the model in a folder, by default the first English one of the usual places.

    Raises HearingError where the folder is no vosk model or none is found.
    """

    name = "vosk"

    def __init__(self, model: Path | None = None) -> None:
        folder = model or next(_models(), None)
        if folder is None:
            raise HearingError("there is no vosk model here", do=f"name its folder in {ENVIRONMENT}")
        if not is_model(folder):
            raise HearingError(
                "this is not a vosk model",
                where=str(folder),
                do=f"give the folder that holds {_ACOUSTIC_MODELS[0]}",
            )
        vosk.SetLogLevel(_QUIET)
        try:
            self.model = vosk.Model(str(folder))
        except Exception as error:  # the library raises nothing narrower
            raise HearingError(
                "this vosk model cannot be opened", where=str(folder), do="unpack it again"
            ) from error
        self._has_other = self._knows(_OTHER)
        self._prepared: WeakKeyDictionary[Grammar, str] = WeakKeyDictionary()

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Decode one utterance. The score is the posterior probability, 0 to 1, of the least sure word.

        Raises HearingError where the grammar has a word that the model does not know.
        """
        phrases = self._phrases_of(grammar)
        started = time.perf_counter()
        recogniser = vosk.KaldiRecognizer(self.model, RATE, phrases)
        recogniser.SetWords(True)  # noqa: FBT003 - that is how the library takes it
        recogniser.AcceptWaveform((np.clip(samples, -1, 1) * _FULL_SCALE).astype(np.int16).tobytes())
        heard = _heard(json.loads(recogniser.FinalResult()))
        return Decoded(guesses=heard, decode_s=time.perf_counter() - started)

    def unknown(self, words: Iterable[str]) -> tuple[str, ...]:
        """List the words that the model does not know."""
        return tuple(sorted(word for word in words if not self._knows(word)))

    def _knows(self, word: str) -> bool:
        return int(self.model.vosk_model_find_word(word)) >= 0

    def _phrases_of(self, grammar: Grammar) -> str:
        if grammar not in self._prepared:
            if unknown := self.unknown(grammar.words):
                raise HearingError(
                    f"the vosk model does not know the word {unknown[0]!r}",
                    where=f"grammar {grammar.name}",
                    do="use another word, or another engine",
                )
            phrases = grammar.phrases(_MOST_PHRASES) or tuple(sorted(grammar.words))
            other = (_OTHER,) if self._has_other else ()
            self._prepared[grammar] = json.dumps([*phrases, *other], ensure_ascii=False)
        return self._prepared[grammar]


def is_model(folder: Path) -> bool:
    """Tell whether a folder holds a vosk model, of either layout there is."""
    return any((folder / name).is_file() for name in _ACOUSTIC_MODELS)


def _heard(result: dict[str, Any]) -> tuple[Guess, ...]:
    words = tuple(result.get("text", "").split())
    if not words:
        return ()
    return (Guess(words=words, score=min((word["conf"] for word in result.get("result", ())), default=0.0)),)


def _models() -> Iterator[Path]:
    """Give the English models of the usual places, the named one first."""
    named = os.environ.get(ENVIRONMENT)
    if named:
        yield Path(named)
    for home in (user_data() / "models", *(Path(place) for place in vosk.MODEL_DIRS if place)):
        yield from (found for found in sorted(home.glob(_MODEL_NAMES)) if is_model(found))
