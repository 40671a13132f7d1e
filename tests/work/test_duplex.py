"""A job in which the assistant speaks, its voice comes back, and the mechanic speaks into it."""

from collections.abc import Iterator

import numpy as np
import pytest

from assistant.dialogue.phrasing import load_phrasebook
from assistant.hearing import echo
from assistant.hearing.echo import EchoCanceller, EchoFree
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


class Looped:
    """Sound devices without devices: what is spoken takes its time, and comes back fainter by so many decibels.

    The mechanic `says` words at stated seconds. `spoke` tells for each block whether the voice was sounding.
    """

    def __init__(
        self, seconds: float, says: dict[float, str], echo_db: float, canceller: EchoCanceller | None
    ) -> None:
        self.output = MemoryOutput()
        self.speaker = Speaker(self.output, on_played=canceller.played) if canceller else Speaker(self.output)
        self._gain = 10 ** (echo_db / 20)
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
            yield (self._said[start : start + BLOCK] + self._gain * own).astype(np.float32)


@pytest.mark.skipif(bool(NO_WHISPER), reason=f"the recogniser of the loud shop is not here: {NO_WHISPER}")
@pytest.mark.parametrize(
    ("echo_db", "cancels"),
    [
        pytest.param(-30.0, False, id="headset"),
        pytest.param(
            -15.0,
            True,
            id="loudspeaker",
            marks=pytest.mark.skipif(bool(echo.missing()), reason="the echo canceller is not here"),
        ),
    ],
)
def test_a_long_reply_is_stopped_by_a_word_and_by_nothing_else(
    bench: Bench, echo_db: float, *, cancels: bool
) -> None:
    """Into the voice "yes" does not count and "stop" ends it; in the silence after it "yes" is the answer."""
    canceller = EchoCanceller() if cancels else None
    loop = Looped(14.0, {2.0: "yes", 6.0: "stop", 10.0: "yes"}, echo_db, canceller)
    conductor = Conductor(
        route_through(load_procedure(find_procedure(NAME)), "short"),
        bench.folder,
        mouth=(mouth := VoiceMouth(EspeakVoice(), loop.speaker, live=True)),
        book=load_phrasebook(),
        clock=bench.clock,
    )
    heard_by = EchoFree(loop, canceller) if canceller else loop
    run_sound(conductor, heard_by, Recogniser(open_engine("whisper-shop")), mouth)
    heard = [event.words for event in bench.new() if isinstance(event, Heard)]
    assert heard == ["stop", "yes"]
    seconds = {second: loop.spoke[round(second * RATE / BLOCK)] for second in (1, 5, 9, 12)}
    assert seconds == {1: True, 5: True, 9: False, 12: True}
