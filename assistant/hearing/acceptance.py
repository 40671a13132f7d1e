"""Whether what an engine heard may be acted on: acceptance that knows when it does not know.

A handful of signals of one utterance are weighed into a confidence from 0 to 1, and how much
confidence is needed depends on what acting on a misheard word would cost. Between that and ASKED, the
assistant asks again; below ASKED it was talk or noise, and nothing happens at all.

The weights are a logistic regression on the development recordings (150 real utterances of single
words and short phrases each without noise, at 10 and at 5 dB; 207 pieces of other talk; 34 noises),
fitted on half of the speakers and judged on the other half, both ways round. Whisper, at a bar of 0.8:
84-87 in 100 right without noise and 57-74 at 10 dB, 1-2 and 1-5 acted on wrongly, 2 of 207 pieces of
talk taken for a command, no noise. PocketSphinx separates far worse, and where the fit itself would
have it ask nearly every time; its bias is raised by 1.0, at the price of 7 in 100 acted on wrongly.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.grammar import Grammar, Match

ASKED: Final = 0.25
"""Below this an utterance is let be as talk; from here to its bar it is asked for again."""

EVERYDAY, RECORDED, GRAVE = 0.6, 0.7, 0.85
"""The bars: for what only asks to hear something, what is recorded, what is hard to take back."""

_EVERYDAY_INTENTS: Final = frozenset(
    {"repeat", "where", "torque", "sequence", "left", "open", "tool", "caution", "timer-left", "help", "stop"}
    | {"quiet", "louder", "softer", "slower", "faster", "adapter", "in-unit", "call-again", "hold", "count"}
    | {"cancel", "no", "resume", "pause", "back", "next", "notes-play", "note-end"}
)
_GRAVE_INTENTS: Final = frozenset({"skip", "finish", "undo", "mark", "timer-stop", "note"})

_WEIGHTS: Final[Mapping[str, Mapping[str, float]]] = MappingProxyType(
    {
        "whisper": {"bias": 3.3, "score_a_word": 1.0, "agrees": 1.9, "fit": 0.6, "length": -1.2},
        "pocketsphinx": {"bias": 1.0, "gap": 0.18, "length": -1.8},
        "vosk": {"bias": -4.0, "score": 8.0, "length": -0.5},
    }
)
"""By engine: the weight of each signal. An engine that is not named here is believed by its score."""

_USUAL_FIT: Final = -1.5
_FLOOR_S: Final = 0.05
_SHORTEST_WORD_S, _LETTER_S = 0.15, 0.07
"""How long words take to say: roughly so much, and so much more for each letter."""


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What acceptance thinks of an utterance: the best guess, what it means, how sure, and why not."""

    heard: tuple[str, ...]
    match: Match | None
    confidence: float
    accepted: bool
    why: str = ""


def judge(decoded: Decoded, grammar: Grammar, *, engine: str, speech_s: float) -> Verdict:
    """Judge what an engine made of an utterance whose speech lasts `speech_s` seconds. Pure."""
    found = next(((guess, match) for guess in decoded.guesses if (match := grammar.match(guess.words))), None)
    if found is None:
        heard = decoded.guesses[0].words if decoded.guesses else ()
        return Verdict(heard=heard, match=None, confidence=0.0, accepted=False, why="nothing that may be said")
    guess, match = found
    confidence = _confidence(signals_of(decoded, guess, speech_s), engine)
    bar = bar_for(match)
    why = "" if confidence >= bar else "unsure" if confidence >= ASKED else "talk or noise"
    return Verdict(heard=guess.words, match=match, confidence=confidence, accepted=confidence >= bar, why=why)


def bar_for(match: Match) -> float:
    """Give the confidence that acting on this needs: that of the gravest thing in it."""
    names = {intent.name for intent in match.intents}
    if names & _GRAVE_INTENTS:
        return GRAVE
    return EVERYDAY if names <= _EVERYDAY_INTENTS else RECORDED


def signals_of(decoded: Decoded, guess: Guess, speech_s: float) -> Mapping[str, float]:
    """Give every signal by name; which of them count is in the engine's table of weights."""
    letters = sum(len(word) for word in guess.words)
    expected_s = _SHORTEST_WORD_S + _LETTER_S * letters
    free = decoded.free
    return {
        "bias": 1.0,
        "score": guess.score,
        "score_a_word": guess.score / max(1, len(guess.words)),
        "agrees": float(free is not None and free.words == guess.words),
        "gap": guess.score - free.score if free is not None else 0.0,
        "fit": decoded.signals.get("fit", _USUAL_FIT),
        "length": abs(math.log(max(speech_s, _FLOOR_S) / expected_s)),
    }


def _confidence(signals: Mapping[str, float], engine: str) -> float:
    weights = _WEIGHTS.get(engine, {"score": 1.0})
    total = sum(weight * signals[name] for name, weight in weights.items())
    return 1 / (1 + math.exp(-max(-30.0, min(30.0, total))))
