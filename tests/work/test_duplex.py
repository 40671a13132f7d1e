"""A job in a headset: the assistant speaks, its voice comes back faintly, and the mechanic speaks into it."""

from collections.abc import Iterator

import numpy as np
import pytest

from assistant.dialogue.phrasing import load_phrasebook
from assistant.hearing.engines import engines, open_engine
from assistant.hearing.recogniser import Recogniser
from assistant.hearing.sources import BLOCK
from assistant.job.events import Heard
from assistant.procedure.load import find_procedure, load_procedure
from assistant.procedure.route import route_through
from assistant.simulate.voices import mechanics
from assistant.sound import RATE, Samples
from assistant.speaking.engines.espeak import EspeakVoice
from assistant.speaking.mouth import VoiceMouth
from assistant.speaking.outputs import MemoryOutput
from assistant.speaking.player import Speaker
from assistant.work.conductor import Conductor
from assistant.work.run import run_sound
from tests.work.benches import NAME, Bench

NO_WHISPER = next(entry for entry in engines() if entry.name == "whisper-shop").missing()
HEADSET = 10 ** (-30 / 20)


class Headset:
    """A headset without devices: what is spoken takes its time, and comes back 30 dB fainter.

    The mechanic `says` words at stated seconds. `spoke` tells for each block whether the voice was sounding.
    """

    def __init__(self, seconds: float, says: dict[float, str]) -> None:
        self.output = MemoryOutput()
        self.speaker = Speaker(self.output)
        self.spoke: list[bool] = []
        self._said = 1e-4 * np.random.default_rng(1).standard_normal(round(seconds * RATE))
        for at_s, words in says.items():
            sound = mechanics()[0].say(words, 1).samples
            self._said[round(at_s * RATE) :][: len(sound)] += sound

    def blocks(self) -> Iterator[Samples]:
        """Give what its microphone hears."""
        for start in range(0, len(self._said) - BLOCK, BLOCK):
            self.spoke.append(self.speaker.playing)
            self.speaker.advance(BLOCK)
            own = self.output.sound.samples[-BLOCK:]
            yield (self._said[start : start + BLOCK] + HEADSET * own).astype(np.float32)


@pytest.mark.skipif(bool(NO_WHISPER), reason=f"the recogniser of the loud shop is not here: {NO_WHISPER}")
def test_a_long_reply_is_stopped_by_a_word_and_by_nothing_else(bench: Bench) -> None:
    """Into the voice "yes" does not count and "stop" ends it; in the silence after it "yes" is the answer."""
    headset = Headset(12.0, {2.0: "yes", 5.0: "stop", 8.0: "yes"})
    conductor = Conductor(
        route_through(load_procedure(find_procedure(NAME)), "short"),
        bench.folder,
        mouth=(mouth := VoiceMouth(EspeakVoice(), headset.speaker, live=True)),
        book=load_phrasebook(),
        clock=bench.clock,
    )
    run_sound(conductor, headset, Recogniser(open_engine("whisper-shop")), mouth)
    heard = [event.words for event in bench.new() if isinstance(event, Heard)]
    assert heard == ["stop", "yes"]
    seconds = {second: headset.spoke[round(second * RATE / BLOCK)] for second in (1, 4, 7, 10)}
    assert seconds == {1: True, 4: True, 7: False, 10: True}
