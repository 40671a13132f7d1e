from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from assistant.evaluate.corpus import Clip
from assistant.evaluate.placing import place, speech_end
from assistant.evaluate.wanted import Case
from assistant.simulate.levels import active_level, rms_level
from assistant.sound import RATE, Samples, Sound, write_sound


def bursts(*seconds: float) -> Samples:
    """Make bursts of a 1 kHz tone of -13 dB and silences in turn, the silence first; their P.56 level is known."""
    tone = [0.3 * np.sin(2 * np.pi * 1000 * np.arange(round(each * RATE)) / RATE) for each in seconds]
    return np.concatenate([each * (n % 2) for n, each in enumerate(tone)]).astype(np.float32)


def case(folder: Path, speech: Samples, noise: Samples | None, snr: str, part: str = "speech") -> Case:
    """Make a case of samples."""
    write_sound(folder / "speech.wav", Sound(speech))
    if noise is not None:
        write_sound(folder / "noise.wav", Sound(noise))
    made = [
        Clip.model_validate({"file": name, "part": kind, "path": folder / name, "text": "go"})
        for name, kind in (("speech.wav", part), ("noise.wav", "noise"))
    ]
    return Case(clip=made[0], snr=snr, noise=None if noise is None else made[1], seed=7)


@pytest.mark.parametrize("snr", ["20", "5", "0", "-5"])
def test_speech_stands_above_the_noise_by_its_active_level(tmp_path: Path, snr: str) -> None:
    """A tone that sounds for a part of the time counts as loud as it is while it sounds (ITU-T P.56, method B)."""
    speech = np.float32(0.2) * bursts(0.5, 2.0, 1.0, 2.0, 0.5)  # quiet enough for the loudest noise on top
    hiss = (0.02 * np.random.default_rng(5).standard_normal(20 * RATE)).astype(np.float32)
    placed = place(case(tmp_path, speech, hiss, snr))
    # The surroundings hold noise alone: before the clip at least 0.8 s, after it 1.5 s.
    around = np.concatenate([placed.samples[: RATE // 2], placed.samples[-RATE:]])
    tone = speech[round(0.7 * RATE) : round(2.3 * RATE)]
    assert rms_level(tone) - rms_level(around) == pytest.approx(float(snr), abs=0.6)


def test_noise_goes_on_before_and_after_the_clip(tmp_path: Path) -> None:
    """Also where the recording of the noise is far shorter, and where there is none but room tone."""
    for noise, snr in ((np.full(800, 0.1, dtype=np.float32), "10"), (None, "clean")):
        placed = place(case(tmp_path, bursts(0.0, 1.0), noise, snr))
        assert placed.seconds > 3.2
        assert rms_level(placed.samples[:4000]) > -80
        assert rms_level(placed.samples[-4000:]) > -80


def test_noise_goes_on_for_longer_where_that_is_asked_for(tmp_path: Path) -> None:
    """What an ear makes of noise that has gone on for a while is measured so; the clip and its ratio are the same."""
    noise = (0.02 * np.random.default_rng(5).standard_normal(3 * RATE)).astype(np.float32)
    short = case(tmp_path, bursts(0.0, 1.0), noise, "10")
    long = replace(short, before_s=20.0)
    assert place(long).seconds == pytest.approx(place(short).seconds + 20)
    assert place(long).spoken_until_s == pytest.approx(place(short).spoken_until_s + 20)
    assert rms_level(place(long).samples[:RATE]) == pytest.approx(
        rms_level(place(short).samples[:8000]), abs=1
    )


def test_equal_seeds_give_equal_sound(tmp_path: Path) -> None:
    """A case can be heard again exactly."""
    wanted = case(tmp_path, bursts(0.0, 1.0), bursts(0.1, 9.0), "5")
    assert np.array_equal(place(wanted).samples, place(wanted).samples)


def test_the_end_of_speech_is_that_of_the_last_loud_sound(tmp_path: Path) -> None:
    """Silence and faint hiss at the end of a clip are not speech."""
    speech = bursts(0.2, 0.6, 0.7)
    speech += (0.0005 * np.random.default_rng(1).standard_normal(len(speech))).astype(np.float32)
    assert speech_end(speech) == pytest.approx(0.8, abs=0.02)
    placed = place(case(tmp_path, speech, None, "clean"))
    assert placed.seconds - placed.spoken_until_s == pytest.approx(1.5 + 0.7, abs=0.02)


def test_silence_is_no_error(tmp_path: Path) -> None:
    """A clip with nothing in it is played as it is."""
    assert len(place(case(tmp_path, np.zeros(1600, np.float32), bursts(0.1, 1.0), "5")).samples)
    assert speech_end(np.zeros(0, np.float32)) == 0.0


def test_bare_noise_is_played_at_its_own_level(tmp_path: Path) -> None:
    """The middle of it is what was recorded, but for a faint room tone."""
    recorded = bursts(0.0, 2.0)
    placed = place(case(tmp_path, recorded, None, "as it is", part="noise"))
    assert active_level(placed.samples) == pytest.approx(rms_level(recorded), abs=0.6)
