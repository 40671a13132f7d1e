import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from assistant.errors import SpeakingError
from assistant.sound import RATE, Samples, Sound, read_sound
from assistant.speaking.outputs import FileOutput, Loudspeaker
from assistant.speaking.player import Speaker


class PortAudioError(Exception):
    """As sounddevice names it."""


class FakeStream:
    """A stream that notes what was done with it."""

    latency = 0.001

    def __init__(self, **settings: Any) -> None:
        self.settings = settings
        self.stopped = True
        self.done: list[str] = []
        self.samples: list[Samples] = []
        self.gone = False

    def start(self) -> None:
        """Start."""
        self.stopped = False
        self.done.append("start")

    def write(self, block: Samples) -> None:
        """Take a block, unless the device has gone."""
        if self.gone:
            raise PortAudioError("device unavailable")
        self.samples.append(block)

    def stop(self) -> None:
        """Play out and stop."""
        self.stopped = True
        self.done.append("stop")

    def abort(self) -> None:
        """Stop at once."""
        self.stopped = True
        self.done.append("abort")

    def close(self) -> None:
        """Close."""
        self.done.append("close")


def fake_sounddevice(
    monkeypatch: pytest.MonkeyPatch, *, refuses: tuple[int, ...] = (), broken: bool = False
) -> list[FakeStream]:
    """Put a sounddevice in place that has one device, or none where broken."""
    streams: list[FakeStream] = []

    def open_stream(**settings: Any) -> FakeStream:
        if broken:
            raise PortAudioError("Error querying device -1")
        streams.append(FakeStream(**settings))
        return streams[-1]

    def check(*, samplerate: int, **_: Any) -> None:
        if samplerate in refuses:
            raise PortAudioError("Invalid sample rate")

    module = SimpleNamespace(
        PortAudioError=PortAudioError,
        OutputStream=open_stream,
        check_output_settings=check,
        query_devices=lambda _device, _kind: {"default_samplerate": 48_000.0},
    )
    monkeypatch.setitem(sys.modules, "sounddevice", module)
    return streams


def test_everything_played_is_in_the_file_at_its_place(tmp_path: Path) -> None:
    """Replies and the silence between them are appended in order; what a stop cut off is not there."""
    path = tmp_path / "replies.wav"
    half = Sound(np.full(RATE, 0.5, np.float32))
    with Speaker(FileOutput(path)) as speaker:
        speaker.play(half)
        speaker.wait()
        speaker.advance(RATE)
        speaker.play(half)
        speaker.advance(RATE // 2)
        speaker.stop()
        speaker.wait()
    sound = read_sound(path)
    assert (sound.rate, len(sound.samples)) == (RATE, 5 * RATE // 2)
    places = np.flatnonzero(np.diff(np.concatenate([[0.0], sound.samples])))
    assert list(places) == [0, RATE, 2 * RATE]


@pytest.mark.parametrize("name", ["missing/replies.wav", "replies.tune", "replies"])
def test_a_file_that_cannot_be_written_is_refused_in_one_line(tmp_path: Path, name: str) -> None:
    """A missing folder or an unknown kind of file says where and what to do."""
    with pytest.raises(SpeakingError) as refusal:
        FileOutput(tmp_path / name)
    assert str(tmp_path / name) in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_without_portaudio_the_refusal_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine without sound gets one line with a remedy, and only when a loudspeaker is opened."""
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(SpeakingError) as refusal:
        Loudspeaker()
    assert "libportaudio2" in refusal.value.do


def test_without_a_device_the_refusal_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """PortAudio without a loudspeaker is refused in one line."""
    fake_sounddevice(monkeypatch, broken=True)
    with pytest.raises(SpeakingError, match="no loudspeaker can be opened"):
        Loudspeaker()


def test_a_loudspeaker_gets_short_blocks_and_little_latency(monkeypatch: pytest.MonkeyPatch) -> None:
    """The block and what the device may hold are together no more than 800 samples."""
    streams = fake_sounddevice(monkeypatch)
    speaker = Speaker(Loudspeaker())
    settings = streams[0].settings
    assert settings["samplerate"] == RATE
    assert settings["blocksize"] + settings["latency"] * RATE <= 800
    speaker.close()


def test_a_loudspeaker_starts_with_the_first_sound_and_rests_after_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The device runs only while something is said; every sample reaches it."""
    streams = fake_sounddevice(monkeypatch)
    with Speaker(Loudspeaker()) as speaker:
        assert streams[0].done == []
        speaker.play(Sound(np.full(1000, 0.25, np.float32)))
        assert speaker.wait(30)
    assert streams[0].done == ["start", "stop", "close"]
    assert sum(len(block) for block in streams[0].samples) == 1000
    assert {block.shape[1] for block in streams[0].samples} == {1}


def test_a_stopped_loudspeaker_is_silenced_without_playing_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the device holds is dropped when the voice is stopped."""
    streams = fake_sounddevice(monkeypatch)
    output = Loudspeaker()
    output.drop()
    output.drain()
    assert streams[0].done == []
    output.write(np.zeros(320, np.float32))
    output.drop()
    output.write(np.zeros(320, np.float32))
    assert streams[0].done == ["start", "abort", "start"]


def test_a_device_that_refuses_16000_plays_at_its_own_rate(monkeypatch: pytest.MonkeyPatch) -> None:
    """A card that only knows 48,000 samples a second is given that."""
    streams = fake_sounddevice(monkeypatch, refuses=(RATE,))
    with Speaker(Loudspeaker()) as speaker:
        speaker.play(Sound(np.zeros(RATE, np.float32)))
        assert speaker.wait(30)
    assert streams[0].settings["samplerate"] == 48_000
    assert sum(len(block) for block in streams[0].samples) == pytest.approx(48_000, abs=2)


def test_a_device_that_goes_away_is_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    """Unplugging becomes a SpeakingError with what to do."""
    streams = fake_sounddevice(monkeypatch)
    output = Loudspeaker()
    streams[0].gone = True
    with pytest.raises(SpeakingError, match="has gone"):
        output.write(np.zeros(320, np.float32))
