import numpy as np
import pytest

from assistant.simulate import voices
from assistant.simulate.levels import active_level, rms_level
from assistant.simulate.voices import SPEECH_DB, MechanicVoice, mechanics
from assistant.sound import RATE

WORDS = "number four done"


@pytest.mark.parametrize("voice", mechanics(), ids=lambda voice: voice.name)
def test_a_mechanic_says_the_same_again_from_the_same_seed(voice: MechanicVoice) -> None:
    """Equal words and seed give equal sound, whatever else was said between; another seed differs."""
    first = voice.say(WORDS, 1)
    other = voice.say(WORDS, 2)
    assert np.array_equal(first.samples, voice.say(WORDS, 1).samples)
    assert not np.array_equal(first.samples, other.samples)


@pytest.mark.parametrize("voice", mechanics(), ids=lambda voice: voice.name)
def test_a_mechanic_speaks_at_the_stated_level_and_rate(voice: MechanicVoice) -> None:
    """Every speaker comes at one active speech level, with silence around the words."""
    sound = voice.say(WORDS, 3)
    assert sound.rate == RATE
    assert 0.8 < sound.seconds < 4
    assert active_level(sound.samples) == pytest.approx(SPEECH_DB, abs=0.1)
    assert np.max(np.abs(sound.samples)) < 1
    assert rms_level(sound.samples[: RATE // 10]) < SPEECH_DB - 40


def test_there_are_several_speakers_with_names_of_their_own_at_several_speeds() -> None:
    """A session can be spoken by different people."""
    names = [voice.name for voice in mechanics()]
    assert len(names) == len(set(names)) >= 3
    lengths_s = [voice.say(WORDS, 4).seconds for voice in mechanics()]
    assert max(lengths_s) > 1.15 * min(lengths_s)


def test_only_speakers_whose_engine_is_here_are_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the natural voice the others remain."""
    monkeypatch.setitem(voices._PRESENT, "piper", lambda: "not installed")
    assert {voice.engine for voice in mechanics()} == {"espeak"}


def test_no_words_are_the_quiet_of_a_room() -> None:
    """An empty utterance lasts as long as its rests and holds no speech, and no perfect silence."""
    samples = mechanics()[-1].say("", 1).samples
    assert -80 < rms_level(samples) < -60
