"""From utterance to intents: an engine proposes, the grammar and acceptance decide.

`hearing.ear` brings it the utterances of a whole stream.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.hearing.acceptance import ROWS, Verdict, is_grave, judge, judge_both
from assistant.hearing.endpointing import Utterance
from assistant.hearing.engine import Decoded, Engine, Guess
from assistant.hearing.grammar import Grammar, words_of
from assistant.hearing.patience import Patience, pause_after
from assistant.hearing.templates import Templates

PRESSED: Final = 1.0
"""What a pressed key says for a command, in log odds.

Whisper, 190 cases of the development set at five noise levels: 134 acted on rightly and 2 wrongly with it, 124 and 0
without. It would let 15 stretches of other talk pass instead of 11 of 590; but the key says that it is no talk.
"""


_SURE: Final = -0.5
"""In log for each word: free hearing is as good as certain. Of 650 stretches of talk none was a command then."""


@dataclass(frozen=True, kw_only=True)
class Recognised:
    """What became of one utterance.

    `intents` is what the dialogue gets: those meant where `accepted`, else "not-understood" or
    "too-long"; `asked` says that it should be asked for again. `heard` is the engine's best guess,
    accepted or not; `why` says why not.
    `start_s` and `end_s` tell where the speech lies in the stream; `decode_s` is how long decoding took.
    `freely` is what was heard without regard to the grammar, where the engine was sure of it.
    `utterance` is the sound it was made of. `pause_s` is how long a pause after it must be for
    the speech to have ended.
    """

    heard: tuple[str, ...]
    intents: tuple[Intent, ...]
    accepted: bool
    asked: bool = False
    confidence: float
    engine: str
    start_s: float
    end_s: float
    decode_s: float = 0.0
    pause_s: float = 0.0
    why: str = ""
    freely: tuple[str, ...] = ()
    utterance: Utterance | None = field(default=None, repr=False, compare=False)


@dataclass(frozen=True)
class Recogniser:
    """An engine, with what makes it safe to act on.

    `ease` is what speaks for every command, in log odds: a voice that the engine hears badly needs less.
    `templates` are the readings of a known voice: they are asked where the engine is in doubt, and settle it by
    hearing the same.
    """

    engine: Engine
    ease: float = 0.0
    templates: Templates | None = None
    patience: Patience = field(default_factory=Patience)

    def recognise(self, utterance: Utterance, grammar: Grammar, *, pressed: bool = False) -> Recognised:
        """Decode an utterance and judge it. Raises HearingError where the engine cannot use the grammar.

        What was said while the key to talk was `pressed` is meant for the assistant: it needs less, and is
        asked for again in any case.
        """
        decoded = self.engine.decode(utterance.samples, grammar)
        verdict = self._judged(decoded, utterance, grammar, self.ease + (PRESSED if pressed else 0.0))
        return self._recognised(decoded, verdict, utterance, grammar, pressed=pressed)

    def recognise_again(self, first: Recognised, utterance: Utterance, grammar: Grammar) -> Recognised:
        """Decode the same utterance again, now with the quiet after it, where the first time was in doubt.

        Only what both times mean can be accepted; where the engine does not gain by it, the first time counts.
        """
        if not first.asked or not ROWS[self.engine.name].twice:
            return first
        decoded = self.engine.decode(utterance.samples, grammar)
        second = self._judged(decoded, utterance, grammar, self.ease)
        match = grammar.match(first.heard)
        if match is None or second.match is None or not second.match.means_the_same(match):
            return first
        verdict = judge_both(first.confidence, second, engine=self.engine.name)
        return self._recognised(decoded, verdict, utterance, grammar)

    def _recognised(
        self,
        decoded: Decoded,
        verdict: Verdict,
        utterance: Utterance,
        grammar: Grammar,
        *,
        pressed: bool = False,
    ) -> Recognised:
        refused = (Intent(name="not-understood", slots={"heard": " ".join(verdict.heard)}),)
        return Recognised(
            heard=verdict.heard,
            intents=verdict.match.intents if verdict.accepted and verdict.match else refused,
            accepted=verdict.accepted,
            asked=verdict.asked or (pressed and not verdict.accepted),
            confidence=verdict.confidence,
            engine=self.engine.name,
            start_s=utterance.start_s,
            end_s=utterance.end_s,
            decode_s=decoded.decode_s,
            pause_s=self._pause(decoded, verdict, grammar),
            why=verdict.why,
            freely=_freely(decoded.free),
            utterance=utterance,
        )

    def _judged(self, decoded: Decoded, utterance: Utterance, grammar: Grammar, ease: float) -> Verdict:
        """Judge what the engine made of it, and where that is in doubt, ask how the known voice reads it."""
        verdict = judge(decoded, grammar, engine=self.engine.name, speech_s=utterance.speech_s, ease=ease)
        if verdict.asked and self._is_confirmed(verdict, utterance, grammar):
            return replace(verdict, accepted=True, asked=False, why="")
        return verdict

    def _is_confirmed(self, verdict: Verdict, utterance: Utterance, grammar: Grammar) -> bool:
        """Tell whether a doubtful command sounds as in the reading; what is grave is not taken on that."""
        if self.templates is None or verdict.match is None or is_grave(verdict.match):
            return False
        read = grammar.match(words_of(self.templates.nearest(utterance.speech)))
        return read is not None and read.means_the_same(verdict.match)

    def _pause(self, decoded: Decoded, verdict: Verdict, grammar: Grammar) -> float:
        # Where the likeliest words of all are but a beginning, a whole phrase that scores less is no end.
        first = decoded.guesses[0].words if decoded.guesses else ()
        words = first if grammar.next_words(first) and not grammar.is_whole(first) else verdict.heard
        return pause_after(words, grammar, self.patience, accepted=verdict.accepted)


def _freely(free: Guess | None) -> tuple[str, ...]:
    return free.words if free and free.words and free.score / len(free.words) >= _SURE else ()


def typed(words: Sequence[str], grammar: Grammar, *, engine: str = "text") -> Recognised:
    """Take words from keys as if they had been heard without doubt; what does not match is asked again."""
    match = grammar.match(words)
    unknown = (Intent(name="not-understood", slots={"heard": " ".join(words)}),)
    return Recognised(
        heard=tuple(words),
        intents=match.intents if match else unknown,
        accepted=match is not None,
        asked=match is None,
        confidence=1.0,
        engine=engine,
        start_s=0.0,
        end_s=0.0,
    )
