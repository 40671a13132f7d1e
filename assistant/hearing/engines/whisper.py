"""Whisper base, decoded within the grammar: the best in noise of what was not trained for it.

Four things make a dictation model into one for commands. Only tokens of the grammar's words may
appear. The prompt lists those words where they are few, so that it expects them. The encoder takes a
short window, not half a minute of mostly silence. And of several beams, those count that the grammar accepts.
Beside that it listens once without restriction, on the same encoded sound, so that acceptance can
see whether something quite different was said.
"""

import math
import time
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from weakref import WeakKeyDictionary

import ctranslate2
import numpy as np
from faster_whisper.feature_extractor import FeatureExtractor
from threadpoolctl import threadpool_limits
from tokenizers import Tokenizer

from assistant.errors import HearingError
from assistant.hearing import weights
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.grammar import Grammar, words_of
from assistant.sound import RATE, Samples

_WINDOWS_S: Final = (4, 6, 8, 10)
_FRAMES_A_SECOND: Final = 100
_BEAMS: Final = 5
_MOST_PROMPT_TOKENS: Final = 160
FEWEST_TOKENS: Final = 4
_FEWEST_LETTERS: Final = 3  # of a word that was cut off; fewer could be the beginning of anything
TOKENS_A_SECOND: Final = 6
_LEAST: Final = 1e-9  # a probability that is nought
_BETWEEN: Final = ".,"
_START: Final = ("<|startoftranscript|>", "<|en|>", "<|transcribe|>", "<|notimestamps|>")
_PROMPT: Final = "<|startofprev|>"
_END: Final = "<|endoftext|>"


def missing() -> str:
    """Say nothing where weights are here, else what is missing."""
    return weights.missing()


Beam = tuple[list[int], float]  # tokens and score


@dataclass(frozen=True)
class _Prepared:
    """What a grammar needs: the tokens that say what is expected, and those that may not appear."""

    prompt: tuple[int, ...]
    suppressed: tuple[int, ...]


class WhisperEngine:
    """Whisper base on one core, with weights in a folder or from where they usually are.

    Raises HearingError where there are none.
    """

    name = "whisper"

    def __init__(self, model: Path | None = None) -> None:
        # numpy's own threads gain nothing on such small matrices and take the network's cores: an answer on two loaded
        # cores took 0.32 s with them, and 0.20 s without.
        threadpool_limits(limits=1, user_api="blas")
        folder = self._folder(model)
        try:
            self._network: Any = ctranslate2.models.Whisper(str(folder), compute_type="int8", intra_threads=1)
            self._tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
        except Exception as error:  # the libraries raise nothing narrower
            raise HearingError(
                f"these weights cannot be opened ({error})", where=str(folder), do=weights.REMEDY
            ) from error
        self._features = FeatureExtractor()
        self._start = [self._token(name) for name in _START]
        self._prepared: WeakKeyDictionary[Grammar, _Prepared] = WeakKeyDictionary()

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Decode one utterance. Scores are log probabilities of the whole.

        Those of guesses are among the tokens that the grammar allows. The signal "fit" holds the best guess
        against all tokens there are: the mean log probability of its tokens, unprompted.
        """
        prepared = self._prepare(grammar)
        started = time.perf_counter()
        most = FEWEST_TOKENS + int(TOKENS_A_SECOND * len(samples) / RATE)
        window_s = window_for(samples)
        sound = self._encode(samples, window_s)
        beams = self._within(sound, prepared, most)
        free = self._freely(sound, most)
        guesses, tokens = self._fold(beams, grammar)
        return Decoded(
            guesses=guesses,
            free=free,
            signals=self._fit(sound, tokens, window_s) if tokens else {},
            decode_s=time.perf_counter() - started,
        )

    @staticmethod
    def _folder(model: Path | None) -> Path:
        return weights.weights(model)

    def unknown(self, words: Iterable[str]) -> tuple[str, ...]:
        """List nothing: any word can be spelled in tokens."""
        return tuple(words)[:0]

    def _encode(self, samples: Samples, window_s: int) -> Any:
        window = np.zeros(window_s * RATE, dtype=np.float32)
        kept = samples[: len(window)]
        window[: len(kept)] = kept
        features = self._features(window, padding=0)[:, : window_s * _FRAMES_A_SECOND]
        batch = np.ascontiguousarray(features[None], dtype=np.float32)
        return self._network.encode(ctranslate2.StorageView.from_array(batch))

    def _within(self, sound: Any, prepared: _Prepared, most: int, *, may_end: bool = False) -> list[Beam]:
        """Spell words of the grammar; with `may_end`, nothing at all may be the likeliest."""
        (found,) = self._network.generate(
            sound,
            [[*prepared.prompt, *self._start]],
            beam_size=_BEAMS,
            num_hypotheses=_BEAMS,
            length_penalty=0,
            return_scores=True,
            suppress_tokens=prepared.suppressed,
            suppress_blank=not may_end,
            max_length=len(prepared.prompt) + len(self._start) + most,
        )
        return list(zip(found.sequences_ids, found.scores, strict=True))

    def _freely(self, sound: Any, most: int) -> Guess:
        (found,) = self._network.generate(
            sound,
            [self._start],
            beam_size=1,
            length_penalty=0,
            return_scores=True,
            suppress_tokens=[],
            max_length=len(self._start) + most,
        )
        return Guess(words=once(self._words(found.sequences_ids[0])), score=found.scores[0])

    def _fold(self, beams: list[Beam], grammar: Grammar) -> tuple[tuple[Guess, ...], list[int] | None]:
        """Bring beams of the same words together; give the tokens of the best that the grammar accepts too."""
        scores: dict[tuple[str, ...], float] = {}
        spelled: dict[tuple[str, ...], list[int]] = {}
        for tokens, score in beams:
            words = self._words(tokens)
            if grammar.match(words) is None:
                words = completed(once(words), grammar)
            scores[words] = float(np.logaddexp(scores.get(words, -math.inf), score))
            spelled.setdefault(words, tokens)
        ranked = sorted(scores, key=lambda words: -scores[words])
        best = next((words for words in ranked if grammar.match(words) is not None), None)
        guesses = tuple(Guess(words=words, score=scores[words]) for words in ranked if words)
        return guesses, spelled.get(best) if best else None

    def _fit(self, sound: Any, tokens: list[int], window_s: int) -> dict[str, float]:
        return {"fit": float(np.log(self._likelihoods(sound, tokens, window_s)).mean())}

    def _likelihoods(self, sound: Any, tokens: list[int], window_s: int) -> Any:
        """Give the probability of each of the tokens after those before it, among all tokens there are."""
        frames = window_s * _FRAMES_A_SECOND
        (aligned,) = self._network.align(sound, self._start[:-1], [tokens], frames)
        return np.maximum(aligned.text_token_probs, _LEAST)

    def _prepare(self, grammar: Grammar) -> _Prepared:
        if grammar not in self._prepared:
            allowed = {self._token(_END), *self._spelled(grammar)}
            listed = self._listed(grammar)
            every = range(self._tokenizer.get_vocab_size(with_added_tokens=True))
            self._prepared[grammar] = _Prepared(
                prompt=(self._token(_PROMPT), *listed) if listed else (),
                suppressed=tuple(token for token in every if token not in allowed),
            )
        return self._prepared[grammar]

    def _spelled(self, grammar: Grammar) -> set[int]:
        """Give the tokens that may appear: those of the words, also capitalised, and of what stands between."""
        spelled = {text for word in grammar.words for text in (f" {word}", f" {word.capitalize()}")}
        return {token for text in (*spelled, _BETWEEN) for token in self._tokens(text)}

    def _listed(self, grammar: Grammar) -> list[int]:
        """List the words, those that may come first before the others; all of them, or none.

        Words that are left out of a list are heard as those that are in it: "three" as "four".
        """
        first = grammar.next_words(())
        words = (*sorted(first), *sorted(grammar.words - first))
        listed = [token for word in words for token in self._tokens(f" {word},")]
        return listed if len(listed) <= _MOST_PROMPT_TOKENS else []

    def _words(self, tokens: list[int]) -> tuple[str, ...]:
        text = unicodedata.normalize("NFKD", self._tokenizer.decode(tokens))
        return words_of("".join(letter for letter in text if not unicodedata.combining(letter)))  # "résumé"

    def _tokens(self, text: str) -> list[int]:
        tokens: list[int] = self._tokenizer.encode(text, add_special_tokens=False).ids
        return tokens

    def _token(self, name: str) -> int:
        token = self._tokenizer.token_to_id(name)
        if token is None:
            raise HearingError(f"these weights know no token {name}", do=weights.REMEDY)
        return int(token)


def once(words: tuple[str, ...]) -> tuple[str, ...]:
    """Take a phrase once that is said over and over, also where the last time was cut off.

    Short windows make Whisper repeat itself: "go go go" for "go".
    """
    for length in range(1, len(words) // 2 + 1):
        phrase = words[:length]
        if (phrase * (len(words) // length + 1))[: len(words)] == words:
            return phrase
    return words


def completed(words: tuple[str, ...], grammar: Grammar) -> tuple[str, ...]:
    """Give the one whole phrase that begins with these letters, or the words as they are where there is no such.

    Whisper spells rare words in pieces and may stop within one, or leave a space out: "what tor" for
    "what torque".
    """
    letters = "".join(words)
    found = set(_phrases_from(letters, (), grammar))
    return found.pop() if len(found) == 1 else words


def _phrases_from(letters: str, prefix: tuple[str, ...], grammar: Grammar) -> Iterator[tuple[str, ...]]:
    if not letters:
        if grammar.is_whole(prefix):
            yield prefix
        return
    for word in grammar.next_words(prefix):
        if letters.startswith(word):
            yield from _phrases_from(letters[len(word) :], (*prefix, word), grammar)
        elif (
            len(letters) >= _FEWEST_LETTERS and word.startswith(letters) and grammar.is_whole((*prefix, word))
        ):
            yield (*prefix, word)


def window_for(samples: Samples) -> int:
    """Give the shortest window, in seconds, that holds the sound, or the longest there is."""
    seconds = len(samples) / RATE
    return next((window_s for window_s in _WINDOWS_S if window_s >= seconds), _WINDOWS_S[-1])
