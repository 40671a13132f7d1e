"""Whisper base with a delta and a head of this program's own: it hears commands in noise, and what is none.

One encoded sound is heard in three ways. The decoder spells words of the grammar. The head tells the sounds of every
20 ms (`hearing.phone_head`), and a search through the grammar which sentences explain them (`hearing.trellis`); it can
find what the decoder did not think of. Both together say which sentence it was. And the decoder spells freely, which
tells a word that sounds near one of the grammar from it.
"""

import json
import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from weakref import WeakKeyDictionary

import numpy as np

from assistant.hearing import trellis, weights
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.engines.whisper import (
    FEWEST_TOKENS,
    TOKENS_A_SECOND,
    Beam,
    WhisperEngine,
    window_for,
)
from assistant.hearing.grammar import Grammar
from assistant.hearing.phone_head import FRAMES_A_SECOND, Floats, PhoneHead
from assistant.hearing.phone_net import Net, net_of
from assistant.hearing.pronouncing import dictionary
from assistant.sound import RATE, Samples

Words = tuple[str, ...]
Scores = Mapping[Words, float]

_DELTA: Final = Path(__file__).with_name("whisper_shop.npz")
_HEAD: Final = Path(__file__).with_name("whisper_shop_sounds.npz")
_ACCOUNT: Final = _DELTA.with_suffix(".json")
_SOUNDS: Final = 0.3
"""What counts a score by the sounds against one by the words. By both, the best of the phrases is the right one of 271
clips without noise / at 10 / 5 / 0 dB in 98 / 97 / 94 / 91 %."""
_BY_SOUNDS: Final = 8  # sentences that are looked for by their sounds
_SPELLED: Final = 2  # of these, so many are spelled by the decoder too where it did not think of them
_AFTER: Final = 5  # frames; the encoder smears the last sound
_UNHEARD: Final = -12.0  # in log: the score by words of a sentence that the decoder did not think of
_UNLIKE: Final = -100.0  # in log, at least: the score by sounds
_FAR: Final = 40.0  # in log, at most: how far one sentence is ahead of the next
_A_SOUND: Final = (-5.0, 10.0)  # in log: what a sound of the sentence may count


def missing() -> str:
    """Say nothing where the base weights are here, else what is missing."""
    return weights.missing()


def revision() -> str:
    """Name the delta."""
    return str(_account()["revision"])


class WhisperShopEngine(WhisperEngine):
    """The same network with the delta added, from a folder of base weights or from where they usually are.

    Raises HearingError where there are none, or they are not those that the delta is for.
    """

    name = "whisper-shop"

    def __init__(self, model: Path | None = None) -> None:
        super().__init__(model)
        self.revision = revision()
        self._head = PhoneHead(_HEAD, _account()["sounds"]["sha256"])
        dictionary()  # read now, and not in the first answer
        self._nets: WeakKeyDictionary[Grammar, Net] = WeakKeyDictionary()

    @staticmethod
    def _folder(model: Path | None) -> Path:
        return weights.with_delta(_DELTA, _account()["sha256"], model)

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Decode one utterance. Scores are log probabilities of the whole, by words and by sounds together.

        The signal "freely" is how much less likely, in log, the best guess is than what is heard freely, where
        that is something else; for the others see `_Heard.signals`.
        """
        started = time.perf_counter()
        most = FEWEST_TOKENS + int(TOKENS_A_SECOND * len(samples) / RATE)
        window_s = window_for(samples)
        sound = self._encode(samples, window_s)
        heard = self._heard(sound, self._sounds(sound, samples), grammar, window_s, most)
        guesses, free = heard.guesses(), self._freely(sound, most)
        best = next((guess.words for guess in guesses if grammar.match(guess.words)), ())
        signals = heard.signals(best, self._net_of(grammar), grammar) if best else {}
        if best and free.words and free.words != best:
            behind = self._aligned(sound, best, window_s) - self._aligned(sound, free.words, window_s)
            signals["freely"] = max(_UNHEARD, min(0.0, behind))
        return Decoded(guesses=guesses, free=free, signals=signals, decode_s=time.perf_counter() - started)

    def _heard(self, sound: Any, logs: Floats, grammar: Grammar, window_s: int, most: int) -> "_Heard":
        """Think of sentences by words and by sounds, and score them either way.

        The likeliest by sounds are spelled by the decoder too where it did not think of them.
        """
        net = self._net_of(grammar)
        found = trellis.best(net, logs, _BY_SOUNDS)
        words = self._guessed(self._within(sound, self._prepare(grammar), most, may_end=True), grammar)
        for guess in found[:_SPELLED]:
            if guess.words not in words:
                words[guess.words] = self._aligned(sound, guess.words, window_s)
        sounds = {guess.words: guess.score for guess in found}
        sounds |= {each: trellis.forced(net, logs, each) for each in words if each not in sounds}
        silence = trellis.forced(net, logs, ())
        return _Heard(words=words, sounds=sounds, free=trellis.free(logs), silence=silence)

    def _net_of(self, grammar: Grammar) -> Net:
        if grammar not in self._nets:
            self._nets[grammar] = net_of(grammar)
        return self._nets[grammar]

    def _sounds(self, sound: Any, samples: Samples) -> Floats:
        """Give the log probabilities of the sounds, of the frames in which there is something."""
        frames = math.ceil(len(samples) / RATE * FRAMES_A_SECOND) + _AFTER
        return self._head.logs(np.array(sound)[0, :frames])

    def _aligned(self, sound: Any, words: Words, window_s: int) -> float:
        """Score given words as the decoder would spell them, among all tokens there are."""
        tokens = [token for word in words for token in self._tokens(f" {word}")]
        return float(np.log(self._likelihoods(sound, tokens, window_s)).sum())

    def _guessed(self, beams: Sequence[Beam], grammar: Grammar) -> dict[Words, float]:
        guesses, _ = self._fold([beam for beam in beams if self._words(beam[0])], grammar)
        return {guess.words: guess.score for guess in guesses}

    def _spelled(self, grammar: Grammar) -> set[int]:
        return {token for word in grammar.words for token in self._tokens(f" {word}")}

    def _listed(self, _grammar: Grammar) -> list[int]:
        """List no words: it was trained without."""
        return []


@dataclass(frozen=True, kw_only=True)
class _Heard:
    """The scores of all sentences thought of, by words and by sounds, and what they are held against.

    Every sentence has a score by sounds; not every one has one by words. `free` is the score of the best path of all by
    the sounds, `silence` that of no sounds.
    """

    words: Scores
    sounds: Scores
    free: float
    silence: float

    def guesses(self) -> tuple[Guess, ...]:
        """Give what was thought of either way, the best first."""
        guesses = (
            Guess(words=each, score=by_words + _SOUNDS * max(_UNLIKE, self.sounds[each] - self.free))
            for each, by_words in self.by_words().items()
        )
        return tuple(sorted(guesses, key=lambda guess: -guess.score))

    def by_words(self) -> Scores:
        """Score every sentence by words; what was not thought of is no worse than what is very unlikely."""
        return {each: max(_UNHEARD, self.words.get(each, _UNHEARD)) for each in self.sounds}

    def signals(self, best: Words, net: Net, grammar: Grammar) -> dict[str, float]:
        """Give what else speaks for the best guess, in log.

        For each sound of it (of the usual way to say it): "sounds", how it explains them against the best path of
        all, and "speech", against silence. "sounds_ahead" and "words_ahead" are how far it is before the best of
        another meaning by the sounds and by the words, in log again and nought where it is behind.
        """
        phones = sum(len(net.ways[word][0]) for word in best)
        return {
            "sounds": float(np.clip((self.sounds[best] - self.free) / phones, *_A_SOUND)),
            "speech": float(np.clip((self.sounds[best] - self.silence) / phones, *_A_SOUND)),
            "sounds_ahead": math.log1p(_ahead(self.sounds, best, grammar)),
            "words_ahead": math.log1p(_ahead(self.by_words(), best, grammar)),
        }


def _ahead(scores: Scores, best: Words, grammar: Grammar) -> float:
    """Give how far one sentence is ahead of the best one of another meaning; nought where it is behind."""
    match = grammar.match(best)
    others = ((grammar.match(each), score) for each, score in scores.items())
    rivals = [score for other, score in others if match and other and not other.means_the_same(match)]
    return min(_FAR, max(0.0, scores[best] - max(rivals, default=-math.inf)))


def _account() -> dict[str, Any]:
    account: dict[str, Any] = json.loads(_ACCOUNT.read_text(encoding="utf-8"))
    return account
