"""The assistant's own voice, mixed into what it hears at stated levels, is never taken for a command."""

from collections.abc import Iterator
from functools import cache

import numpy as np
import pytest

from assistant.hearing.ear import Ear, OwnVoice
from assistant.hearing.engines import engines, open_engine
from assistant.hearing.grammar import load_grammar, words_of
from assistant.hearing.recogniser import Recogniser
from assistant.hearing.sources import BLOCK
from assistant.simulate.levels import active_level
from assistant.simulate.voices import mechanics
from assistant.sound import RATE, Samples, join, silence
from assistant.speaking.engines.espeak import EspeakVoice

NO_WHISPER = next(entry for entry in engines() if entry.name == "whisper-shop").missing()
STEP, SPEAKING = load_grammar("step"), load_grammar("speaking")
MECHANIC_DB = -26.0

REPLIES = [
    "Step one is done. Step two. Take off the rocker cover. Next, say done.",
    "Stopped. The record says that it was cut short.",
    "Say done, next, back, note, skip, repeat, or where am I.",
    "Quieter. Nothing is going on, so there is nothing to stop.",
]
LONG = "The head bolts are next: ten bolts in three stages, from the middle outward. Number one is in front."
LEVELS = [
    pytest.param(5.0, id="loudspeaker: louder than the mechanic"),
    pytest.param(0.0, id="loudspeaker: as loud as the mechanic"),
    pytest.param(-30.0, id="headset: 30 dB below the mechanic"),
]


@cache
def recogniser() -> Recogniser:
    """Open the recogniser once."""
    return Recogniser(open_engine("whisper-shop"))


def blocks(reply: str, level_db: float, said: str = "") -> Iterator[tuple[Samples, bool]]:
    """Give a reply as the microphone hears it, with whether the voice is sounding, and silence after it.

    What the mechanic has `said` begins a second into it.
    """
    spoken = EspeakVoice().render(reply).at(RATE)
    whole = join([spoken, silence(1.0)]).samples
    gain = 10 ** ((MECHANIC_DB + level_db - active_level(spoken.samples)) / 20)
    hum = 1e-3 * np.random.default_rng(1).standard_normal(len(whole))
    if said:
        words = mechanics()[0].say(said, 1).samples
        hum[RATE : RATE + len(words)] += words
    heard = (gain * whole + hum).astype(np.float32)[: len(whole) // BLOCK * BLOCK].reshape(-1, BLOCK)
    for number, block in enumerate(heard):
        yield block, number * BLOCK < len(spoken.samples)


@pytest.mark.skipif(bool(NO_WHISPER), reason=f"the recogniser of the loud shop is not here: {NO_WHISPER}")
@pytest.mark.parametrize("level_db", LEVELS)
@pytest.mark.parametrize("reply", REPLIES)
def test_the_own_voice_is_no_command(reply: str, level_db: float) -> None:
    """Not even where it says the words of commands, and the stop words among them."""
    assert heard(reply, level_db) == []


@pytest.mark.skipif(bool(NO_WHISPER), reason=f"the recogniser of the loud shop is not here: {NO_WHISPER}")
@pytest.mark.parametrize(("said", "counts"), [("stop", ["stop"]), ("quiet", ["quiet"]), ("undo", [])])
def test_stop_words_are_heard_into_a_headset_and_nothing_else(said: str, counts: list[str]) -> None:
    """The voice is 30 dB below the mechanic there, and goes on while he speaks."""
    assert heard(LONG, -30.0, said) == counts


def heard(reply: str, level_db: float, said: str = "") -> list[str]:
    """Let it hear a reply; gives what would be acted on."""
    voice = OwnVoice()
    ear = Ear(recogniser=recogniser(), grammar_now=lambda: STEP, stop_words=SPEAKING, own_voice=voice)
    found = []
    for block, is_sounding in blocks(reply, level_db, said):
        if is_sounding:
            voice.begin(words_of(reply))
        else:
            voice.end()
        found += ear.push(block)
    return [" ".join(each.heard) for each in found + ear.end() if each.accepted]
