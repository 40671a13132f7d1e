"""Where sound comes from."""

import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import soundfile

from assistant.errors import HearingError
from assistant.hearing import sources
from assistant.hearing.sources import BLOCK, FileSource, MicrophoneSource, QueueSource
from assistant.sound import RATE, Samples


def tone(seconds: float, rate: int = RATE, hertz: float = 440.0) -> Samples:
    """Make a sine tone at half of full scale."""
    time_s = np.arange(round(seconds * rate)) / rate
    return (0.5 * np.sin(2 * np.pi * hertz * time_s)).astype(np.float32)


@pytest.mark.parametrize(
    ("rate", "ending"), [(8_000, "wav"), (16_000, "flac"), (44_100, "wav"), (48_000, "flac")]
)
def test_a_file_of_any_rate_comes_as_blocks_of_ours(tmp_path: Path, rate: int, ending: str) -> None:
    """Blocks have one shape and type, and the tone keeps its length, level and pitch."""
    path = tmp_path / f"tone.{ending}"
    soundfile.write(path, tone(1.5, rate), rate)
    blocks = list(FileSource(path).blocks())
    assert {(block.shape, block.dtype) for block in blocks} == {((BLOCK,), np.dtype(np.float32))}
    sound = np.concatenate(blocks)
    assert FileSource(path).seconds == pytest.approx(1.5)
    assert abs(len(sound) - 1.5 * RATE) <= BLOCK
    middle = sound[RATE // 2 : RATE]
    assert np.sqrt(np.mean(middle**2)) == pytest.approx(0.5 / np.sqrt(2), rel=0.02)
    assert np.argmax(np.abs(np.fft.rfft(middle))) * RATE / len(middle) == pytest.approx(440, abs=3)


def test_channels_are_averaged(tmp_path: Path) -> None:
    """Two opposite channels give silence."""
    path = tmp_path / "two.wav"
    soundfile.write(path, np.stack([tone(0.2), -tone(0.2)], axis=1), RATE)
    assert max(float(np.abs(block).max()) for block in FileSource(path).blocks()) < 1e-4


def test_a_file_that_is_missing_or_no_sound_is_told_at_once(tmp_path: Path) -> None:
    """The error names the file, before any block is asked for."""
    with pytest.raises(HearingError, match="there is no such sound file"):
        FileSource(tmp_path / "none.wav")
    broken = tmp_path / "broken.wav"
    broken.write_text("this is text")
    with pytest.raises(HearingError, match=r"broken\.wav: this is not a sound file"):
        FileSource(broken)


def test_a_file_that_breaks_off_is_told(tmp_path: Path) -> None:
    """A damaged FLAC stream is one clear error, never a silent end."""
    path = tmp_path / "whole.flac"
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, 4 * RATE).astype(np.float32)
    soundfile.write(path, noise, RATE)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(HearingError, match="breaks off"):
        list(FileSource(path).blocks())


def test_pieces_pushed_by_another_thread_come_as_blocks() -> None:
    """Pieces of any length are joined and cut, and the rest is filled up with silence."""
    source = QueueSource()
    sound = tone(0.3)

    def push() -> None:
        for start in range(0, len(sound), 700):
            source.push(sound[start : start + 700])
        source.close()

    thread = threading.Thread(target=push)
    thread.start()
    heard = np.concatenate(list(source.blocks()))
    thread.join()
    assert len(heard) % BLOCK == 0
    assert np.array_equal(heard[: len(sound)], sound)
    assert not heard[len(sound) :].any()


class FakeDevices:
    """Stands for the device library: a microphone that takes only its own rate, gives a tone, and may go away."""

    class PortAudioError(Exception):
        """What the library raises."""

    def __init__(self, *, rate: int = 48_000, has_input: bool = True, tells: bool = True) -> None:
        self.rate = rate
        self.has_input = has_input
        self.tells = tells

    def check_input_settings(self, *, samplerate: float, **_settings: Any) -> None:
        """Refuse other rates than its own."""
        if samplerate != self.rate:
            raise self.PortAudioError("Invalid sample rate")

    def query_devices(self, _device: Any, _kind: str) -> dict[str, float]:
        """Tell of the microphone, where there is one."""
        if not self.has_input:
            raise self.PortAudioError("Error querying device -1")
        return {"default_samplerate": float(self.rate)}

    def InputStream(self, *, callback: Any, finished_callback: Any, samplerate: int, **_settings: Any) -> Any:  # noqa: N802
        """Open a stream that gives half a second and then goes away."""
        sound = tone(0.5, samplerate)[:, None]

        def start() -> None:
            callback(sound, len(sound), None, None)
            if self.tells:
                finished_callback()

        return SimpleNamespace(start=start, close=lambda: None)


@pytest.fixture
def devices(monkeypatch: pytest.MonkeyPatch) -> Iterator[FakeDevices]:
    """Put a device library of our own in the place of the real one."""
    fake = FakeDevices()
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    return fake  # type: ignore[return-value]


def test_a_microphone_of_another_rate_is_brought_to_ours(devices: FakeDevices) -> None:
    """Its sound comes as blocks, and that it went away is told, not taken for the end."""
    assert devices.rate != RATE
    with MicrophoneSource() as source:
        blocks: list[Samples] = []
        with pytest.raises(HearingError, match="went away"):
            blocks.extend(source.blocks())
        taken = list(_until_error(MicrophoneSource))
    assert sum(len(block) for block in taken) == pytest.approx(0.5 * RATE, abs=2 * BLOCK)


def _until_error(make: type[MicrophoneSource]) -> Iterator[Samples]:
    with make() as source:
        try:
            yield from source.blocks()
        except HearingError:
            return


def test_a_microphone_that_falls_silent_without_a_word_is_told(
    devices: FakeDevices, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Some systems do not say that a device was unplugged: nothing comes any more."""
    monkeypatch.setattr(sources, "_STALLED_S", 0.05)
    devices.tells = False
    with MicrophoneSource() as source, pytest.raises(HearingError, match="has stopped"):
        list(source.blocks())


def test_a_missing_microphone_is_one_clear_line(devices: FakeDevices) -> None:
    """The error says what to do instead."""
    devices.has_input = False
    with (
        pytest.raises(HearingError, match=r"no microphone can be opened .*; plug one in"),
        MicrophoneSource(),
    ):
        pass


def test_a_missing_audio_system_is_one_clear_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without PortAudio the remedy is named, and only when a microphone is asked for."""
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(HearingError, match="libportaudio2"), MicrophoneSource():
        pass
