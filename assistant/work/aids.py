"""What helps hearing in a job that runs by sound: keys, the name, noise, a microphone that goes away or is set wrongly.

Each looks on at every block, in hearing's own thread, and has the conductor do or say what has to be.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from assistant.dialogue.helping import REMINDED_AT
from assistant.dialogue.intents import Intent
from assistant.hearing.clipping import Clipping
from assistant.hearing.endpointing import BLOCK_S
from assistant.hearing.faint import FaintSpeech
from assistant.hearing.floor import NoiseFloor
from assistant.hearing.grammar import Grammar, words_of
from assistant.hearing.lasting import LastingSource
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recognised
from assistant.sound import Samples
from assistant.work.conductor import Conductor
from assistant.work.keys import TALK, Keys


class Aid:
    """Looks on at what is heard."""

    def look(self, block: Samples, conductor: Conductor) -> None:
        """Take the next block, shape (512,), and have done what it asks for."""

    def heard(self, heard: Recognised) -> None:
        """Learn from what was heard."""


@dataclass(frozen=True)
class KeyAid(Aid):
    """Does what the keys stand for; a command from a key is told to the `others` as one that was heard."""

    keys: Keys
    acts: Mapping[str, str]
    press: Press
    others: Sequence[Aid] = ()

    def look(self, _block: Samples, conductor: Conductor) -> None:
        """Work out the keys that were pressed."""
        for key in self.keys.get():
            act = self.acts.get(key, "")
            if act == TALK:
                conductor.hush()
                self.press.key()
            elif act:
                heard = conductor.pressed(words_of(act))
                for other in self.others:
                    other.heard(heard)


@dataclass
class MicrophoneAid(Aid):
    """Tells when the microphone went away and when it is back."""

    source: LastingSource
    _told: bool = field(default=False, init=False)

    def look(self, _block: Samples, conductor: Conductor) -> None:
        """Tell what changed."""
        if self.source.is_deaf != self._told and conductor.tell(Intent(name=_DEAF[self.source.is_deaf])):
            self._told = self.source.is_deaf


_DEAF = {True: "deaf", False: "hears-again"}


AGAIN_S: Final = 1800.0
"""What is still wrong after so long is told again."""

REST_S: Final = 300.0
"""What was told, mended, and is wrong again is not told again before so long."""

LOUD_REST_S: Final = 120.0
"""The same of noise: a saw that is as loud as speech is fine for a moment twice a minute."""


@dataclass
class _Told:
    """Tells what is wrong once: again after it was fine, but not within `rest_s`, and again where it lasts for long."""

    intent: str
    rest_s: float = 0.0
    _since_s: float = field(default=0.0, init=False)
    _wait_s: float = field(default=0.0, init=False)

    @property
    def is_due(self) -> bool:
        """Whether it would be told if it were wrong now."""
        return self._since_s >= self._wait_s

    def look(self, conductor: Conductor, *, wrong: bool) -> bool:
        """Take the next block's time, and tell where something is wrong and that was not told; give whether it was."""
        self._since_s += BLOCK_S
        is_told = wrong and self.is_due and conductor.tell(Intent(name=self.intent))
        if is_told:
            self._since_s, self._wait_s = 0.0, AGAIN_S
        return is_told

    def fine(self) -> None:
        """Let it be told again when it is wrong again."""
        self._wait_s = min(self._wait_s, self.rest_s)


ENDLESS_S: Final = 30.0
"""Talk for so long, with no pause in which speech ends, is babble or a radio, where the level has no pauses either.

Of the development set's babble that is true: none of twelve commands was understood in it, at 5, 0 and -5 dB, since
their speech never ended. Of seven meetings and five readings, played again and again, three readings last for so
long by hearing, and none has no pauses in its level meanwhile; the longest stretch of a meeting was 30 s.
"""


@dataclass
class NoiseAid(Aid):
    """Warns where the noise makes hearing hopeless, and where the sound is too strong for the microphone.

    What overdrives the microphone is told as that alone, since nobody knows how loud the noise is then; as noise where
    it was told as that lately. Many voices at once have no pause in which a command could end, however faint they are:
    `talk_s` tells how long that goes on.
    """

    talk_s: Callable[[], float] = lambda: 0.0
    floor: NoiseFloor = field(default_factory=NoiseFloor)
    clipping: Clipping = field(default_factory=Clipping)
    _loud: _Told = field(default_factory=lambda: _Told("too-loud", LOUD_REST_S), init=False)
    _strong: _Told = field(default_factory=lambda: _Told("too-strong", AGAIN_S), init=False)
    _endless: _Told = field(default_factory=lambda: _Told("no-pause", REST_S), init=False)
    _is_told_strong: bool = field(default=False, init=False)

    def look(self, block: Samples, conductor: Conductor) -> None:
        """Follow the noise while the assistant is silent."""
        if conductor.speaking:
            return
        self.floor.push(block)
        self.clipping.push(block)
        if not self.floor.is_hopeless:
            self._loud.fine()
        is_told = self._strong.look(conductor, wrong=self.clipping.is_bad)
        self._is_told_strong = is_told or (self._is_told_strong and self.clipping.goes_on)
        is_strong = self._is_told_strong or (self.clipping.is_most and self._strong.is_due)
        is_told = self._tells_endless(conductor, other=self.floor.is_hopeless or is_strong)
        self._loud.look(conductor, wrong=self.floor.is_hopeless and not is_strong and not is_told)

    def _tells_endless(self, conductor: Conductor, *, other: bool) -> bool:
        """Tell of talk without end, where nothing `other` is to be told; give whether that goes on and was told."""
        is_endless = self.talk_s() >= ENDLESS_S and self.floor.is_pauseless
        if not is_endless:
            self._endless.fine()
        self._endless.look(conductor, wrong=is_endless and not other and not conductor.keeps_still)
        return is_endless and not self._endless.is_due

    def heard(self, heard: Recognised) -> None:
        """Learn how loud the mechanic is from what was understood, and from what was not whether it was broken."""
        if heard.accepted:
            self.clipping.understood()
            self._strong.fine()
        if heard.utterance is not None:
            if heard.accepted:
                self.floor.understood(heard.utterance.samples)
            else:
                self.clipping.refused(heard.utterance.speech)


TOGETHER_S: Final = 60.0
"""Two commands missed within this time, with nothing understood between them, are no chance."""

AFTER_VOICE_S: Final = 1.0
"""For so long after the assistant's own voice the room's echo of it may be taken for faint speech."""


@dataclass
class _Missed:
    """Commands that were missed, with nothing understood since; each counts for a while."""

    now_s: float = field(default=0.0, init=False)
    _at_s: list[float] = field(default_factory=list, init=False)

    @property
    def is_no_chance(self) -> bool:
        """Whether there are two of them together."""
        return len(self._at_s) > 1

    def pass_block(self) -> None:
        """Let the next block's time pass."""
        self.now_s += BLOCK_S
        self._at_s = [at for at in self._at_s if self.now_s - at <= TOGETHER_S]

    def add(self) -> None:
        """Count one more."""
        self._at_s.append(self.now_s)

    def forget(self) -> None:
        """Begin anew: something was understood, or it was told."""
        self._at_s = []


@dataclass
class FaintAid(Aid):
    """Warns where commands come in too faintly to be heard; where it is not quiet, the noise is what matters."""

    faint: FaintSpeech
    floor: NoiseFloor
    press: Press
    _told: _Told = field(default_factory=lambda: _Told("too-faint", REST_S), init=False)
    _missed: _Missed = field(default_factory=_Missed, init=False)
    _quiet_from_s: float = field(default=0.0, init=False)
    _understood_s: float = field(default=0.0, init=False)

    def look(self, block: Samples, conductor: Conductor) -> None:
        """Listen for what is too faint while the assistant is silent."""
        self._missed.pass_block()
        if conductor.speaking:
            self._quiet_from_s = self._missed.now_s + AFTER_VOICE_S
        if self._lets_pass(conductor):
            self.faint.skip()
        elif self.faint.push(block, conductor.grammar, understood_s=self._understood_s):
            self._missed.add()
        if self._told.look(conductor, wrong=self._missed.is_no_chance):
            self._missed.forget()

    def _lets_pass(self, conductor: Conductor) -> bool:
        """Tell whether what is said now is not for the assistant, or cannot be told from something else."""
        is_by_key = self.press.only or self.press.is_on
        is_noise = self._missed.now_s < self._quiet_from_s or self.floor.floor_db > _QUIET_DB
        return is_by_key or is_noise or conductor.keeps_still

    def heard(self, heard: Recognised) -> None:
        """Know what hearing understood by itself."""
        if heard.accepted:
            self._understood_s = max(self._understood_s, heard.end_s)
            self._missed.forget()
            self._told.fine()


_QUIET_DB: Final = -55.0
"""Where the noise is louder than this, speech that is drowned in it is not the microphone's fault."""


@dataclass
class QuestionAid(Aid):
    """Has the question that waits put again, where so much was taken for talk that an answer may be among it."""

    _reached: int = field(default=0, init=False)

    def look(self, _block: Samples, conductor: Conductor) -> None:
        """Look at how much talk was let be since it was put.

        While the assistant itself speaks, or a note is made, the reminder waits for the end of that.
        """
        reached = max((count for count in REMINDED_AT if count <= conductor.state.let_be), default=0)
        if reached <= self._reached or conductor.tell(Intent(name="let-be")):
            self._reached = reached


@dataclass
class ElsewhereAid(Aid):
    """Says where the job stands, where commands come in that fit another place: the mechanic is ahead, or behind.

    `anything` is all that can be said anywhere. What fits here is heard as always; this is for the rest, which would
    be let be in silence.
    """

    anything: Grammar
    _told: _Told = field(default_factory=lambda: _Told("not-here", TOGETHER_S), init=False)
    _words: Sequence[str] = field(default=(), init=False)
    _missed: _Missed = field(default_factory=_Missed, init=False)

    def look(self, _block: Samples, conductor: Conductor) -> None:
        """Say it at the second command within a while, with nothing understood between them."""
        self._missed.pass_block()
        words, self._words = self._words, ()
        if words and conductor.grammar().match(words) is None and self.anything.match(words) is not None:
            self._missed.add()
        if self._told.look(conductor, wrong=self._missed.is_no_chance and not conductor.keeps_still):
            self._missed.forget()
            self._told.fine()

    def heard(self, heard: Recognised) -> None:
        """Learn what was understood, and what may have been a command all the same."""
        self._words = () if heard.accepted else heard.freely
        if heard.accepted:
            self._missed.forget()


class NameAid(Aid):
    """Lets time pass for the name: it is needed no more after a calm."""

    def look(self, _block: Samples, conductor: Conductor) -> None:
        """Look at the time."""
        conductor.look_at_name()
