"""Speech that is too faint, at stated levels."""

import numpy as np
import pytest

from assistant.hearing.faint import FaintSpeech
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.hearing.sources import BLOCK
from assistant.simulate.voices import SPEECH_DB, mechanics
from assistant.sound import RATE, Samples
from tests.hearing.test_ear import STEP, Scripted

RNG = np.random.default_rng(1)


def spoken(level_db: float) -> Samples:
    """Let somebody say "repeat" at an active level, 20 dB above the room, in blocks; two seconds of the room follow."""
    voice = np.pad(mechanics()[0].say("repeat", 1).samples, (RATE // 2, 2 * RATE))
    sound = voice * 10 ** ((level_db - SPEECH_DB) / 20)
    sound += 10 ** ((level_db - 20) / 20) * RNG.standard_normal(len(sound))
    return sound[: len(sound) // BLOCK * BLOCK].reshape(-1, BLOCK).astype(np.float32)


def missed(faint: FaintSpeech, blocks: Samples) -> list[Recognised]:
    """Let it hear blocks; gives what was said too faintly."""
    return [heard for block in blocks if (heard := faint.push(block, lambda: STEP)) is not None]


@pytest.mark.parametrize("level_db", [-50, -60, -65])
def test_a_command_that_is_too_faint_is_found(level_db: float) -> None:
    """It is made louder, and heard once."""
    engine = Scripted("repeat")
    (heard,) = missed(FaintSpeech(Recogniser(engine)), spoken(level_db))
    assert heard.heard == ("repeat",)
    assert heard.end_s - heard.start_s > 0.2


@pytest.mark.parametrize("level_db", [-38, -26, -10])
def test_what_is_not_faint_is_not_listened_to_again(level_db: float) -> None:
    """An engine that has nothing to say is not asked."""
    assert missed(FaintSpeech(Recogniser(Scripted())), spoken(level_db)) == []


def test_what_hearing_understood_itself_is_not_decoded_again() -> None:
    """An engine that has nothing to say is not asked; what begins later is."""
    faint = FaintSpeech(Recogniser(Scripted()))
    assert not any(faint.push(block, lambda: STEP, understood_s=60.0) for block in spoken(-60))
    faint = FaintSpeech(Recogniser(Scripted("repeat")))
    assert any(faint.push(block, lambda: STEP, understood_s=0.1) for block in spoken(-60))


def test_other_talk_that_is_faint_is_let_be() -> None:
    """The radio at the far end of the shop is no command."""
    assert missed(FaintSpeech(Recogniser(Scripted("pass me the rag"))), spoken(-60)) == []


def test_noise_that_is_faint_is_no_speech() -> None:
    """A fan in a quiet room says nothing; nor does a microphone that gives nothing."""
    fan = (1e-3 * RNG.standard_normal((300, BLOCK))).astype(np.float32)
    assert missed(FaintSpeech(Recogniser(Scripted())), fan) == []
    assert missed(FaintSpeech(Recogniser(Scripted())), np.zeros_like(fan)) == []


def test_blocks_that_pass_keep_the_time_of_the_stream() -> None:
    """What is found lies where it lay in the stream; what began before a gap does not go on after it."""
    faint = FaintSpeech(Recogniser(Scripted("repeat")))
    for block in spoken(-60)[:30]:
        faint.push(block, lambda: STEP)
    for _ in range(1000):
        faint.skip()
    (heard,) = missed(faint, spoken(-60))
    assert heard.start_s > 1030 * BLOCK / RATE
