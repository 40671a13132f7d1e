"""What helps hearing in a job that runs by sound: keys, the name, the noise around, a microphone that may go away.

Each looks on at every block, in hearing's own thread, and has the conductor do or say what has to be.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from assistant.dialogue.helping import REMINDED_AT
from assistant.dialogue.intents import Intent
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


@dataclass
class NoiseAid(Aid):
    """Warns once where the noise makes hearing hopeless, and again only after it was good in between."""

    floor: NoiseFloor = field(default_factory=NoiseFloor)
    _told: bool = field(default=False, init=False)

    def look(self, block: Samples, conductor: Conductor) -> None:
        """Follow the noise while the assistant is silent."""
        if conductor.speaking:
            return
        self.floor.push(block)
        if not self.floor.is_hopeless:
            self._told = False
        elif not self._told:
            self._told = conductor.tell(Intent(name="too-loud"))

    def heard(self, heard: Recognised) -> None:
        """Learn how loud the mechanic is from what was understood."""
        if heard.accepted and heard.utterance is not None:
            self.floor.understood(heard.utterance.samples)


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
