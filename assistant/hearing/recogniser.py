"""From utterance to intents: an engine proposes, the grammar and acceptance decide.

`Recogniser` does one utterance. `listen` does a whole stream, and knows when the assistant itself is
speaking: until a moment after it ends, only the stop words count, since the microphone hears that voice too.
"""

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.hearing.acceptance import judge
from assistant.hearing.endpointing import BLOCK_S, Ended, Endpointer, Event, TooLong, Utterance
from assistant.hearing.engine import Engine
from assistant.hearing.grammar import Grammar
from assistant.hearing.sources import Source
from assistant.sound import Samples

ECHO_S: Final = 0.15
"""How long the room still carries the assistant's own voice after its last sample."""


@dataclass(frozen=True, kw_only=True)
class Recognised:
    """What became of one utterance.

    `intents` is what the dialogue gets: those meant where `accepted`, else "not-understood" or
    "too-long"; `asked` says that it should be asked for again. `heard` is the engine's best guess,
    accepted or not; `why` says why not.
    `start_s` and `end_s` tell where the speech lies in the stream; `decode_s` is how long decoding took.
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
    why: str = ""


@dataclass(frozen=True)
class Recogniser:
    """An engine, with what makes it safe to act on."""

    engine: Engine

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
            why=verdict.why,
        )


class OwnVoice:
    """Tells hearing whether the assistant is speaking. The player's thread says so, hearing's thread looks."""

    def __init__(self) -> None:
        self._on = threading.Event()

    @property
    def is_on(self) -> bool:
        """Whether it is speaking."""
        return self._on.is_set()

    def begin(self) -> None:
        """Say that the first sample is about to be played."""
        self._on.set()

    def end(self) -> None:
        """Say that the last sample has been played, or that the voice was stopped."""
        self._on.clear()


BlockHook = Callable[[Samples, float], None]
"""Gets each block, shape (512,), and the time at which it starts, in seconds from the start of the stream."""


def listen(
    source: Source,
    recogniser: Recogniser,
    grammar_now: Callable[[], Grammar],
    *,
    stop_words: Grammar | None = None,
    own_voice: OwnVoice | None = None,
    on_block: BlockHook | None = None,
    endpointer: Endpointer | None = None,
) -> Iterator[Recognised]:
    """Recognise a stream, utterance by utterance, until it ends.

    `grammar_now` is asked at the end of each utterance. What was said into the assistant's `own_voice`
    is heard against `stop_words` alone, and given on only if accepted; without them it is not heard.
    `on_block` sees every block first, also those that hearing ignores.
    Raises HearingError where the source ends by a fault or the engine cannot use a grammar.
    """
    ear = _Ear(endpointer or Endpointer(), own_voice or OwnVoice())
    for number, block in enumerate(source.blocks()):
        if on_block is not None:
            on_block(block, number * BLOCK_S)
        for event, is_mixed in ear.push(block):
            grammar = stop_words if is_mixed else grammar_now()
            yield from _recognised(event, recogniser, grammar, is_mixed=is_mixed)
    for event, is_mixed in ear.end():
        yield from _recognised(
            event, recogniser, stop_words if is_mixed else grammar_now(), is_mixed=is_mixed
        )


@dataclass
class _Ear:
    """Marks each event of the endpointer that the assistant's own voice was mixed into."""

    endpointer: Endpointer
    own_voice: OwnVoice
    _echo_s: float = field(default=0.0, init=False)
    _is_mixed: bool = field(default=False, init=False)

    def push(self, block: Samples) -> list[tuple[Event, bool]]:
        """Take the next block; give what it brought, and whether the own voice was in it."""
        before = self._reopen() if self._is_mixed and self._echo_s <= 0 and not self.own_voice.is_on else []
        if self.own_voice.is_on:
            self._is_mixed, self._echo_s = True, ECHO_S
        else:
            self._echo_s -= BLOCK_S
        return before + [(event, self._is_mixed) for event in self.endpointer.push(block)]

    def end(self) -> list[tuple[Event, bool]]:
        """End what is going on."""
        return [(event, self._is_mixed) for event in self.endpointer.flush()]

    def _reopen(self) -> list[tuple[Event, bool]]:
        # What began in the own voice ends with it: an answer given at once is an utterance of its own.
        events = self.end()
        self._is_mixed = False
        return events


def _recognised(
    event: Event, recogniser: Recogniser, grammar: Grammar | None, *, is_mixed: bool
) -> Iterator[Recognised]:
    if isinstance(event, Ended) and grammar is not None:
        found = recogniser.recognise(event.utterance, grammar)
        if found.accepted or not is_mixed:
            yield found
    elif isinstance(event, TooLong) and not is_mixed:
        yield _too_long(event, recogniser.engine.name)


def _too_long(event: TooLong, engine: str) -> Recognised:
    return Recognised(
        heard=(),
        intents=(Intent(name="too-long"),),
        accepted=False,
        confidence=0.0,
        engine=engine,
        start_s=event.start_s,
        end_s=event.end_s,
        why="longer than any command",
    )
