"""From utterance to intents: an engine proposes, the grammar and acceptance decide.

`hearing.ear` brings it the utterances of a whole stream.
"""

from dataclasses import dataclass, field

from assistant.dialogue.intents import Intent
from assistant.hearing.acceptance import Verdict, judge
from assistant.hearing.endpointing import Utterance
from assistant.hearing.engine import Decoded, Engine
from assistant.hearing.grammar import Grammar
from assistant.hearing.patience import Patience, pause_after


@dataclass(frozen=True, kw_only=True)
class Recognised:
    """What became of one utterance.

    `intents` is what the dialogue gets: those meant where `accepted`, else "not-understood" or
    "too-long"; `asked` says that it should be asked for again. `heard` is the engine's best guess,
    accepted or not; `why` says why not.
    `start_s` and `end_s` tell where the speech lies in the stream; `decode_s` is how long decoding took.
    `pause_s` is how long a pause after it must be for the speech to have ended.
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


@dataclass(frozen=True)
class Recogniser:
    """An engine, with what makes it safe to act on."""

    engine: Engine
    patience: Patience = field(default_factory=Patience)

    def recognise(self, utterance: Utterance, grammar: Grammar) -> Recognised:
        """Decode an utterance and judge it. Raises HearingError where the engine cannot use the grammar."""
        decoded = self.engine.decode(utterance.samples, grammar)
        verdict = judge(decoded, grammar, engine=self.engine.name, speech_s=utterance.speech_s)
        heard = verdict.heard
        refused = (Intent(name="not-understood", slots={"heard": " ".join(heard)}),)
        return Recognised(
            heard=heard,
            intents=verdict.match.intents if verdict.accepted and verdict.match else refused,
            accepted=verdict.accepted,
            asked=verdict.asked,
            confidence=verdict.confidence,
            engine=self.engine.name,
            start_s=utterance.start_s,
            end_s=utterance.end_s,
            decode_s=decoded.decode_s,
            pause_s=self._pause(decoded, verdict, grammar),
            why=verdict.why,
        )

    def _pause(self, decoded: Decoded, verdict: Verdict, grammar: Grammar) -> float:
        # Where the likeliest words of all are but a beginning, a whole phrase that scores less is no end.
        first = decoded.guesses[0].words if decoded.guesses else ()
        words = first if grammar.next_words(first) and not grammar.is_whole(first) else verdict.heard
        return pause_after(words, grammar, self.patience, accepted=verdict.accepted)
