"""What helps hearing in a job that runs by sound: keys, the name, noise, a microphone that goes away or is set wrongly.

Each looks on at every block, in hearing's own thread, and has the conductor do or say what has to be.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from assistant.dialogue.helping import REMINDED_AT
from assistant.dialogue.intents import Intent
from assistant.hearing.clipping import Clipping
from assistant.hearing.endpointing import BLOCK_S
from assistant.hearing.faint import FaintSpeech
from assistant.hearing.floor import NoiseFloor
from assistant.hearing.grammar import words_of
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
    """Does what the keys stand for."""

    keys: Keys
    acts: Mapping[str, str]
    press: Press

    def look(self, _block: Samples, conductor: Conductor) -> None:
        """Work out the keys that were pressed."""
        for key in self.keys.get():
            act = self.acts.get(key, "")
            if act == TALK:
                conductor.hush()
                self.press.key()
            elif act:
                conductor.pressed(words_of(act))


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


@dataclass
class _Told:
    """Tells what is wrong once: again after it was fine, but not within `rest_s`, and again where it lasts for long."""

    intent: str
    rest_s: float = 0.0
    _is_told: bool = field(default=False, init=False)
    _since_s: float = field(default=0.0, init=False)

    def look(self, conductor: Conductor, *, wrong: bool) -> None:
        """Take the next block's time, and tell where something is wrong and that was not told."""
        self._since_s += BLOCK_S
        is_due = not self._is_told or self._since_s >= AGAIN_S
        if wrong and is_due and conductor.tell(Intent(name=self.intent)):
            self._is_told, self._since_s = True, 0.0

    def fine(self) -> None:
        """Let it be told again when it is wrong again."""
        self._is_told = self._is_told and self._since_s < self.rest_s


@dataclass
class NoiseAid(Aid):
    """Warns where the noise makes hearing hopeless, and where the sound is too strong for the microphone.

    What overdrives the microphone is told as that alone: nobody knows how loud the noise is then.
    """

    floor: NoiseFloor = field(default_factory=NoiseFloor)
    clipping: Clipping = field(default_factory=Clipping)
    _loud: _Told = field(default_factory=lambda: _Told("too-loud"), init=False)
    _strong: _Told = field(default_factory=lambda: _Told("too-strong", AGAIN_S), init=False)

    def look(self, block: Samples, conductor: Conductor) -> None:
        """Follow the noise while the assistant is silent."""
        if conductor.speaking:
            return
        self.floor.push(block)
        self.clipping.push(block)
        if not self.floor.is_hopeless:
            self._loud.fine()
        self._strong.look(conductor, wrong=self.clipping.is_bad)
        self._loud.look(conductor, wrong=self.floor.is_hopeless and not self.clipping.goes_on)

    def heard(self, heard: Recognised) -> None:
        """Learn how loud the mechanic is from what was understood, and from what was not whether it was broken."""
        if heard.utterance is None:
            return
        if heard.accepted:
            self.floor.understood(heard.utterance.samples)
            self.clipping.understood()
            self._strong.fine()
        else:
            self.clipping.refused(heard.utterance.speech)


@dataclass
class FaintAid(Aid):
    """Warns where commands come in too faintly to be heard; where it is not quiet, the noise is what matters."""

    faint: FaintSpeech
    floor: NoiseFloor
    press: Press
    _told: _Told = field(default_factory=lambda: _Told("too-faint", REST_S), init=False)
    _is_wrong: bool = field(default=False, init=False)
    _understood_s: float = field(default=0.0, init=False)

    def look(self, block: Samples, conductor: Conductor) -> None:
        """Listen for what is too faint while the assistant is silent."""
        if conductor.speaking or self.press.is_on or self.floor.floor_db > _QUIET_DB:
            self.faint.skip()
            return
        missed = self.faint.push(block, conductor.grammar)
        if missed is not None and missed.start_s >= self._understood_s:
            self._is_wrong = True
        self._told.look(conductor, wrong=self._is_wrong)

    def heard(self, heard: Recognised) -> None:
        """Know what hearing understood by itself."""
        if heard.accepted:
            self._understood_s, self._is_wrong = heard.end_s, False
            self._told.fine()


_QUIET_DB: Final = -55.0
"""Where the noise is louder than this, speech that is drowned in it is not the microphone's fault."""


@dataclass
class QuestionAid(Aid):
    """Has the question that waits put again, where so much was taken for talk that an answer may be among it."""

    _seen: int = field(default=0, init=False)

    def look(self, _block: Samples, conductor: Conductor) -> None:
        """Look at how much talk was let be since it was put; in the midst of words it waits for their end."""
        let_be = conductor.state.let_be
        is_due = let_be != self._seen and let_be in REMINDED_AT
        if not is_due or conductor.tell(Intent(name="let-be")):
            self._seen = let_be


class NameAid(Aid):
    """Lets time pass for the name: it is needed no more after a calm."""

    def look(self, _block: Samples, conductor: Conductor) -> None:
        """Look at the time."""
        conductor.look_at_name()
