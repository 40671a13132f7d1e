"""From a stream of sound to what was meant, utterance by utterance.

Speech is decoded at its first short pause, and what that gave counts if speech does not go on; what was
heard decides how long the pause must be (`hearing.patience`). What was in doubt is heard again as the pause goes on.
The ear knows when the assistant itself is speaking: until a moment after it ends, only the stop words count, since the
microphone hears that voice too.
"""

import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.hearing.endpointing import BLOCK_S, Ended, Endpointer, Event, Paused, TooLong, Utterance
from assistant.hearing.floor import NoiseFloor, level
from assistant.hearing.grammar import Grammar
from assistant.hearing.press import Press, Pressed
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.hearing.sources import Source
from assistant.sound import Samples

ECHO_S: Final = 0.15
"""How long the room still carries the assistant's own voice after its last sample."""


OWN_BELOW_DB: Final = 16.0
"""What is so far below the mechanic's loudest tenth is his own speech only in its softest sounds.

A headset has the assistant's voice about 30 dB below him, and an echo canceller leaves as little. In a quiet room,
"stop" said once into the first reply, with the canceller: with 16 dB it was found at -20, -15 and -10 dB of echo,
with 24 dB at neither -20 nor -10 dB. Of 22 replies that hold words of commands, in two voices, none was taken for one
at -20 dB; of 16 recordings of "stop" by real people all were found at -20 dB, without a canceller.
"""


class OwnVoice:
    """Tells hearing whether the assistant is speaking. The player's thread says so, hearing's thread looks."""

    def __init__(self) -> None:
        self._on = threading.Event()
        self._words: tuple[str, ...] = ()

    @property
    def is_on(self) -> bool:
        """Whether it is speaking."""
        return self._on.is_set()

    @property
    def words(self) -> tuple[str, ...]:
        """What it says, or said last, word by word as the grammars spell them."""
        return self._words

    def may_have_said(self, words: Sequence[str]) -> bool:
        """Tell whether what was heard may be its own: "stop" where it says "stopped"."""
        return all(any(own.startswith(word) for own in self.words) for word in words)

    def begin(self, words: tuple[str, ...] = ()) -> None:
        """Say that the first sample is about to be played, of these words."""
        self._words = words
        self._on.set()

    def end(self) -> None:
        """Say that the last sample has been played, or that the voice was stopped."""
        self._on.clear()


BlockHook = Callable[[Samples, float], None]
"""Gets each block, shape (512,), and the time at which it starts, in seconds from the start of the stream."""

PartialHook = Callable[[tuple[str, ...]], None]
"""Gets the words that were heard so far, at a pause. They may still change, and nothing may be done on them."""


@dataclass(frozen=True)
class _Early:
    """What was heard at a pause, once or twice, and against which grammar."""

    grammar: Grammar
    heard: Recognised
    twice: bool = False

    def is_of(self, utterance: Utterance, grammar: Grammar) -> bool:
        """Tell whether it is the same speech, which has not gone on, and the same may still be said."""
        return self.grammar is grammar and self.heard.end_s == utterance.end_s


@dataclass(kw_only=True)
class Ear:
    """Hears a stream, block by block.

    `grammar_now` is asked when speech pauses and when it ends. What was said into the assistant's `own_voice`
    is heard against `stop_words` alone, and given on only if accepted and not among its own words; without them
    it is not heard. `on_partial` is told what is heard so far. While the key to talk is on (`press`), all that
    is said counts, against `grammar_pressed` where there is one. `floor` knows how loud the mechanic is.
    """

    recogniser: Recogniser
    grammar_now: Callable[[], Grammar]
    stop_words: Grammar | None = None
    own_voice: OwnVoice = field(default_factory=OwnVoice)
    endpointer: Endpointer = field(default_factory=Endpointer)
    on_partial: PartialHook = lambda _words: None
    press: Press = field(default_factory=Press)
    grammar_pressed: Callable[[], Grammar] | None = None
    floor: NoiseFloor = field(default_factory=NoiseFloor)
    _echo_s: float = field(default=0.0, init=False)
    _is_mixed: bool = field(default=False, init=False)
    _early: _Early | None = field(default=None, init=False)
    _pressed: Pressed | None = field(default=None, init=False)
    _count: int = field(default=0, init=False)

    def push(self, block: Samples) -> list[Recognised]:
        """Take the next block, shape (512,), and give what was settled by it.

        Raises HearingError where the engine cannot use a grammar.
        """
        self._count += 1
        if self.press.is_on or self._pressed:
            return self._push_pressed(block)
        if self.press.only:
            self.endpointer.skip()
            return []
        before = self._reopen() if self._is_mixed and self._echo_s <= 0 and not self.own_voice.is_on else []
        if self.own_voice.is_on:
            self._is_mixed, self._echo_s = True, ECHO_S
        else:
            self._echo_s -= BLOCK_S
        return [*before, *self._settled(self.endpointer.push(block, is_own=self._is_own(block)))]

    def _is_own(self, block: Samples) -> bool:
        """Tell whether a block is so faint beside the mechanic that it is the own voice in a headset.

        The detector hears a faint voice as well as a loud one: what is said into it would never end.
        """
        return self._is_mixed and level(block) < self.floor.speech_db - OWN_BELOW_DB

    def end(self) -> list[Recognised]:
        """End the speech that is going on, as at the end of the stream, and give what it was."""
        return self._settled(self.endpointer.flush())

    def _push_pressed(self, block: Samples) -> list[Recognised]:
        """Collect what is said while the key is on; when it is off, take it."""
        found: list[Recognised] = []
        if self._pressed is None:
            found, self._is_mixed = self.end(), False
            self._pressed = Pressed(self.endpointer.detector, self._count - 1)
        self.endpointer.skip()
        self._pressed.push(block)
        if not self.press.is_on:
            utterance, self._pressed = self._pressed.utterance(), None
            self.endpointer.detector.reset()
            grammar = (self.grammar_pressed or self.grammar_now)()
            found.append(self.recogniser.recognise(utterance, grammar, pressed=True))
        return found

    def _reopen(self) -> list[Recognised]:
        # What began in the own voice ends with it: an answer given at once is an utterance of its own.
        found = self.end()
        self._is_mixed = False
        return found

    def _settled(self, events: list[Event]) -> list[Recognised]:
        found: list[Recognised] = []
        for event in events:
            if isinstance(event, Paused):
                self._look(event.utterance)
            elif isinstance(event, Ended):
                found += self._take(event.utterance)
            elif isinstance(event, TooLong) and not self._is_mixed:
                found.append(_too_long(event, self.recogniser.engine.name))
        return found

    def _look(self, utterance: Utterance) -> None:
        """Decode what may be the end of speech, and wait as long as that asks for."""
        grammar = self._grammar()
        if grammar is None:
            return
        before, self._early = self._early, self._heard(utterance, grammar)
        heard = self._early.heard
        self.endpointer.allow(heard.pause_s)
        if not self._is_mixed and (before is None or heard is not before.heard):
            self.on_partial(heard.heard)

    def _take(self, utterance: Utterance) -> list[Recognised]:
        """Take what was heard at the pause, if speech did not go on and the same may still be said."""
        grammar = self._grammar()
        early = self._heard(utterance, grammar) if grammar is not None else None
        self._early = None
        if early is None:
            return []
        if not self._is_mixed:
            return [early.heard]
        is_own = self.own_voice.may_have_said(early.heard.heard)
        return [early.heard] if early.heard.accepted and not is_own else []

    def _heard(self, utterance: Utterance, grammar: Grammar) -> _Early:
        """Hear it; what was heard already, and was in doubt, once more: now there is the quiet after it."""
        early = self._early
        if early is None or not early.is_of(utterance, grammar):
            return _Early(grammar, self.recogniser.recognise(utterance, grammar))
        if early.twice:
            return early
        return _Early(grammar, self.recogniser.recognise_again(early.heard, utterance, grammar), twice=True)

    def _grammar(self) -> Grammar | None:
        return self.stop_words if self._is_mixed else self.grammar_now()


def listen(
    source: Source,
    recogniser: Recogniser,
    grammar_now: Callable[[], Grammar],
    *,
    stop_words: Grammar | None = None,
    own_voice: OwnVoice | None = None,
    on_block: BlockHook | None = None,
    on_partial: PartialHook | None = None,
    endpointer: Endpointer | None = None,
    press: Press | None = None,
    grammar_pressed: Callable[[], Grammar] | None = None,
    floor: NoiseFloor | None = None,
) -> Iterator[Recognised]:
    """Recognise a stream, utterance by utterance, until it ends; the hooks and grammars are those of `Ear`.

    `on_block` sees every block first, also those that hearing ignores.
    Raises HearingError where the source ends by a fault or the engine cannot use a grammar.
    """
    ear = Ear(
        recogniser=recogniser,
        grammar_now=grammar_now,
        stop_words=stop_words,
        own_voice=own_voice or OwnVoice(),
        endpointer=endpointer or Endpointer(),
        on_partial=on_partial or (lambda _words: None),
        press=press or Press(),
        grammar_pressed=grammar_pressed,
        floor=floor or NoiseFloor(),
    )
    for number, block in enumerate(source.blocks()):
        if on_block is not None:
            on_block(block, number * BLOCK_S)
        yield from ear.push(block)
    yield from ear.end()


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
