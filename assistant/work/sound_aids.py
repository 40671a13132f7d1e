"""What is wrong with the sound itself: a dead microphone, noise, babble, what is overdriven, what is too faint."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.hearing.clipping import Clipping
from assistant.hearing.endpointing import BLOCK_S
from assistant.hearing.faint import FaintSpeech
from assistant.hearing.floor import NoiseFloor
from assistant.hearing.lasting import LastingSource
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recognised
from assistant.sound import Samples
from assistant.work.aid import AGAIN_S, REST_S, Aid, Missed, Told
from assistant.work.conductor import Conductor


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


LOUD_REST_S: Final = 120.0
"""The same of noise: a saw that is as loud as speech is fine for a moment twice a minute."""


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
    `talk_s` tells how long that goes on. `talk_key` is the key that lets one talk all the same, as it is called; ""
    for none.
    """

    talk_s: Callable[[], float] = lambda: 0.0
    talk_key: str = ""
    floor: NoiseFloor = field(default_factory=NoiseFloor)
    clipping: Clipping = field(default_factory=Clipping)
    _loud: Told = field(init=False)
    _strong: Told = field(default_factory=lambda: Told("too-strong", AGAIN_S), init=False)
    _endless: Told = field(init=False)
    _is_told_strong: bool = field(default=False, init=False)
    _calm_s: float = field(default=0.0, init=False)

    def __post_init__(self) -> None:
        self._loud = Told("too-loud", LOUD_REST_S, {"key": self.talk_key})
        self._endless = Told("no-pause", REST_S, {"key": self.talk_key})

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
        talk_s = self.talk_s()
        is_endless = talk_s >= ENDLESS_S and self.floor.is_pauseless
        self._calm_s = 0.0 if talk_s else self._calm_s + BLOCK_S
        if self._calm_s >= ENDLESS_S:  # the own voice, as it tells this, ends what goes on for less
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


AFTER_VOICE_S: Final = 1.0
"""For so long after the assistant's own voice the room's echo of it may be taken for faint speech."""


@dataclass
class FaintAid(Aid):
    """Warns where commands come in too faintly to be heard; where it is not quiet, the noise is what matters."""

    faint: FaintSpeech
    floor: NoiseFloor
    press: Press
    _told: Told = field(default_factory=lambda: Told("too-faint", REST_S), init=False)
    _missed: Missed = field(default_factory=Missed, init=False)
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
