"""PocketSphinx: decodes the JSGF itself, with the model in its wheel. Always there; for quiet rooms.

Its scores say how well the sound fits the phrase. Beside the phrase it follows a loop of bare English
sounds, which fits any speech: the nearer the phrase comes to it, the surer it is.
"""

import math
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final
from weakref import WeakKeyDictionary

import numpy as np
import pocketsphinx

from assistant.errors import HearingError
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.grammar import Grammar, pronunciations
from assistant.sound import Samples

_SOUNDS: Final = "bare sounds"
_MOST_GUESSES: Final = 5
_MOST_LISTED: Final = 200  # many paths through the lattice carry the same words
_MOST_WAYS: Final = 10  # in which one word may sound
_FULL_SCALE: Final = 32_767
_SCALE: Final = 10_000  # brings its logarithms, of base 1.0001, near to whole numbers
_MODEL_FILES: Final = ("en-us/mdef", "cmudict-en-us.dict", "en-us-phone.lm.bin")


def missing() -> str:
    """Say nothing: the model is in the wheel, without which this module cannot be imported."""
    return ""


class PocketsphinxEngine:
    """A decoder with the American English model of its wheel, or with another in a folder of that layout.

    Raises HearingError where the folder is no such model.
    """

    name = "pocketsphinx"

    def __init__(self, model: Path | None = None) -> None:
        folder = model or Path(pocketsphinx.get_model_path("en-us"))
        if not all((folder / name).is_file() for name in _MODEL_FILES):
            raise HearingError(
                "this is not a PocketSphinx model",
                where=str(folder),
                do=f"it must hold {', '.join(_MODEL_FILES)}",
            )
        self._decoder = pocketsphinx.Decoder(
            hmm=str(folder / "en-us"),
            dict=str(folder / "cmudict-en-us.dict"),
            lm=None,
            bestpath=False,
            loglevel="FATAL",
        )
        self._decoder.add_allphone_file(_SOUNDS, str(folder / "en-us-phone.lm.bin"))
        self._add_pronunciations()
        self._prepared: WeakKeyDictionary[Grammar, str] = WeakKeyDictionary()
        self._made = 0

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Decode one utterance. Scores are per frame of 10 ms, the higher the better it fits.

        Raises HearingError where the grammar has a word with no pronunciation.
        """
        search = self._search_for(grammar)
        if not len(samples):
            return Decoded(guesses=())  # the library reads past the end of an empty buffer
        started = time.perf_counter()
        sound = (np.clip(samples, -1, 1) * _FULL_SCALE).astype(np.int16).tobytes()
        guesses = self._run(search, sound)
        free = self._run(_SOUNDS, sound)
        return Decoded(
            guesses=guesses,
            free=Guess(words=(), score=free[0].score) if free else None,
            decode_s=time.perf_counter() - started,
        )

    def unknown(self, words: Iterable[str]) -> tuple[str, ...]:
        """List the words that have no pronunciation."""
        return tuple(sorted(word for word in words if self._decoder.lookup_word(word) is None))

    def _run(self, search: str, sound: bytes) -> tuple[Guess, ...]:
        decoder = self._decoder
        decoder.activate_search(search)
        decoder.start_utt()
        decoder.process_raw(sound, full_utt=True)
        decoder.end_utt()
        best = decoder.hyp()
        if best is None or not best.hypstr:
            return ()
        found = {best.hypstr: best.best_score}
        if search != _SOUNDS:
            for _, other in zip(range(_MOST_LISTED), decoder.nbest(), strict=False):
                if other is not None and other.hypstr and len(found) < _MOST_GUESSES:
                    found.setdefault(other.hypstr, other.best_score)
        frames = max(1, decoder.n_frames())
        return tuple(
            Guess(words=tuple(text.split()), score=_log(score) / frames) for text, score in found.items()
        )

    def _search_for(self, grammar: Grammar) -> str:
        if grammar not in self._prepared:
            self._add(grammar.sounds)
            if unknown := self.unknown(grammar.words):
                raise HearingError(
                    f"PocketSphinx does not know how {unknown[0]!r} sounds",
                    where=f"grammar {grammar.name}",
                    do="add it to grammars/en/pronunciations.dict, use another word, or use whisper",
                )
            self._made += 1
            name = f"grammar {self._made}"
            self._decoder.add_jsgf_string(name, grammar.jsgf())
            self._prepared[grammar] = name
        return self._prepared[grammar]

    def _add_pronunciations(self) -> None:
        known = {word for word in pronunciations() if self._decoder.lookup_word(word) is not None}
        self._add({word: sounds for word, sounds in pronunciations().items() if word not in known})

    def _add(self, sounds: Mapping[str, str]) -> None:
        """Teach it words; one that it knows otherwise may be said in both ways from then on."""
        for word, said in sounds.items():
            others = (f"{word}({number})" for number in range(2, _MOST_WAYS))
            for way in (word, *others):
                known = self._decoder.lookup_word(way)
                if known is None:
                    self._decoder.add_word(way, said, update=False)
                if known is None or known == said:
                    break


def _log(score: Any) -> float:
    return math.log(score) * _SCALE if score > 0 else -math.inf
