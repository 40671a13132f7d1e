"""What helps hearing in a job that runs by sound: keys, the name, a word where what is said fits no place here.

Each looks on at every block, in hearing's own thread, and has the conductor do or say what has to be. What concerns
the sound itself is in `sound_aids`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from assistant.dialogue.helping import REMINDED_AT
from assistant.dialogue.intents import Intent
from assistant.hearing.grammar import Grammar, words_of
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recognised
from assistant.sound import Samples
from assistant.work.aid import TOGETHER_S, Aid, Missed, Told
from assistant.work.conductor import Conductor
from assistant.work.keys import TALK, Keys


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
    _told: Told = field(default_factory=lambda: Told("not-here", TOGETHER_S), init=False)
    _words: Sequence[str] = field(default=(), init=False)
    _missed: Missed = field(default_factory=Missed, init=False)

    def look(self, _block: Samples, conductor: Conductor) -> None:
        """Say it at the second command within a while, with nothing understood between them."""
        self._missed.pass_block()
        words, self._words = self._words, ()
        if conductor.keeps_still:
            return  # what is said into a note, or in a pause, is no command that was missed
        if words and conductor.grammar().match(words) is None and self.anything.match(words) is not None:
            self._missed.add()
        if self._told.look(conductor, wrong=self._missed.is_no_chance):
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
