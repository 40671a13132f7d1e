import threading
from collections.abc import Callable

import numpy as np
import pytest

from assistant.errors import SpeakingError
from assistant.sound import RATE, Samples, Sound
from assistant.speaking.outputs import MemoryOutput, NullOutput
from assistant.speaking.player import MOST_SAMPLES_AFTER_STOP, Speaker, louder

BLOCK = 320
PATIENCE_S = 30.0


def ramp(count: int) -> Sound:
    """Make sound of which every sample is known by its place."""
    return Sound((np.arange(count) % 1000 / 1000).astype(np.float32))


class WatchedOutput(MemoryOutput):
    """Memory that tells how much it has after every block."""

    def __init__(self, watch: Callable[[int], None], rate: int = RATE) -> None:
        super().__init__(rate)
        self._watch = watch

    def write(self, block: Samples) -> None:
        """Keep the block and tell."""
        super().write(block)
        self._watch(len(self.sound.samples))


class Device:
    """A loudspeaker whose clock the test turns: it holds `latency` samples that are not yet heard.

    At `drop` what it holds is lost, or still heard where `stubborn`.
    """

    rate = RATE
    live = True

    def __init__(self, latency: int = 480, *, stubborn: bool = False) -> None:
        self.latency_s = 0.01
        self._latency = latency
        self._stubborn = stubborn
        self._ticks = threading.Semaphore(0)
        self.wrote = threading.Semaphore(0)
        self.held: list[int] = []
        self.heard = 0
        self.drops = 0
        self.closed = False
        self.fault: SpeakingError | None = None

    def tick(self, count: int = 1) -> None:
        """Let time for so many blocks pass."""
        for _ in range(count):
            self._ticks.release()

    def write(self, block: Samples) -> None:
        """Take a block once the clock has turned."""
        assert self._ticks.acquire(timeout=PATIENCE_S)
        if self.fault:
            raise self.fault
        self.held.append(len(block))
        while sum(self.held) > self._latency:
            self.heard += self.held.pop(0)
        self.wrote.release()

    def drain(self) -> None:
        """Play out."""
        self.heard += sum(self.held)
        self.held.clear()

    def drop(self) -> None:
        """Fall silent."""
        self.heard += sum(self.held) if self._stubborn else 0
        self.held.clear()
        self.drops += 1

    def close(self) -> None:
        """Remember it."""
        self.closed = True


def test_sounds_are_played_one_after_another_and_whole() -> None:
    """Two sounds arrive in their order, every sample of them."""
    output = MemoryOutput()
    with Speaker(output) as speaker:
        speaker.play(ramp(1000))
        speaker.play(ramp(77))
        assert speaker.playing
        assert speaker.wait()
        assert not speaker.playing
        assert speaker.played == 1077
    assert np.array_equal(output.sound.samples, np.concatenate([ramp(1000).samples, ramp(77).samples]))


@pytest.mark.parametrize("at", [1, 320, 5000, 31_999])
def test_at_most_800_samples_follow_a_stop(at: int) -> None:
    """A stop from the middle of playing is obeyed within 800 samples, counted where they arrive."""
    stopped_at: list[int] = []

    def watch(count: int) -> None:
        if count >= at and not stopped_at:
            stopped_at.append(count)
            speaker.stop()

    output = WatchedOutput(watch)
    with Speaker(output) as speaker:
        speaker.play(ramp(2 * RATE))
        speaker.play(ramp(RATE))
        speaker.wait()
    assert len(output.sound.samples) - stopped_at[0] <= MOST_SAMPLES_AFTER_STOP == 800
    assert len(output.sound.samples) < 2 * RATE + BLOCK


@pytest.mark.parametrize("stubborn", [False, True])
def test_at_most_800_samples_are_heard_from_a_loudspeaker_after_a_stop(*, stubborn: bool) -> None:
    """The block being written and what the device holds together are 800 samples at most.

    Also where the device plays out what it holds.
    """
    device = Device(stubborn=stubborn)
    with Speaker(device) as speaker:
        speaker.play(ramp(2 * RATE))
        for _ in range(20):
            device.tick()
            assert device.wrote.acquire(timeout=PATIENCE_S)
        heard = device.heard
        assert heard > 0
        speaker.stop()
        device.tick(100)
        assert speaker.wait(PATIENCE_S)
        assert device.heard - heard <= MOST_SAMPLES_AFTER_STOP
        assert device.drops == 1


def test_a_loudspeaker_is_played_to_by_a_thread_and_the_caller_goes_on() -> None:
    """Playing returns at once; the sound goes on while the caller does something else."""
    device = Device()
    with Speaker(device) as speaker:
        speaker.play(ramp(3 * BLOCK))
        assert speaker.playing
        assert not speaker.wait(0.01)
        device.tick(3)
        assert speaker.wait(PATIENCE_S)
        assert speaker.played == 3 * BLOCK
        assert (device.heard, device.drops) == (3 * BLOCK, 0)
    assert device.closed


def test_a_new_sound_after_a_stop_is_heard_from_its_beginning() -> None:
    """Stop forgets what waited, and nothing of what comes after it."""
    device = Device()
    with Speaker(device) as speaker:
        speaker.play(ramp(RATE))
        device.tick(2)
        assert device.wrote.acquire(timeout=PATIENCE_S)
        speaker.stop()
        speaker.play(ramp(5 * BLOCK))
        before = speaker.played
        device.tick(100)
        assert speaker.wait(PATIENCE_S)
        assert 5 * BLOCK <= speaker.played - before <= 7 * BLOCK


def test_stop_in_silence_does_nothing() -> None:
    """A stop before anything was played does not swallow the next sound."""
    device = Device()
    with Speaker(device) as speaker:
        speaker.stop()
        device.tick(10)
        speaker.play(ramp(2 * BLOCK))
        assert speaker.wait(PATIENCE_S)
        assert speaker.played == 2 * BLOCK


def test_stop_may_come_from_any_thread() -> None:
    """Many threads that stop and play at once leave the speaker silent and usable."""
    output = MemoryOutput()
    with Speaker(output) as speaker:
        turns: list[Callable[[], object]] = [speaker.stop, speaker.wait]
        threads = [threading.Thread(target=turn) for turn in turns * 4]
        speaker.play(ramp(20 * RATE))
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert not speaker.playing
        before = speaker.played
        speaker.play(ramp(100))
        speaker.wait()
        assert speaker.played == before + 100


def test_time_that_passes_is_played_time_and_silence_fills_it() -> None:
    """On a clock of its own an output gets what would have been heard by then, then silence."""
    output = MemoryOutput()
    with Speaker(output) as speaker:
        speaker.advance(100)
        speaker.play(ramp(500))
        speaker.advance(350)
        assert speaker.playing
        speaker.advance(350)
        assert not speaker.playing
    samples = output.sound.samples
    assert len(samples) == 800
    assert not np.any(samples[:100])
    assert np.array_equal(samples[100:600], ramp(500).samples)
    assert not np.any(samples[600:])


def test_a_stop_between_two_moments_cuts_the_sound_there() -> None:
    """A recorded session can stop the voice in the middle of a reply."""
    output = MemoryOutput()
    with Speaker(output) as speaker:
        speaker.play(ramp(RATE))
        speaker.advance(RATE // 2)
        speaker.stop()
        assert not speaker.playing
        speaker.advance(RATE)
    assert np.any(output.sound.samples[: RATE // 2])
    assert not np.any(output.sound.samples[RATE // 2 :])


def test_a_loudspeaker_keeps_its_own_time() -> None:
    """Advancing does nothing to a live output."""
    device = Device()
    with Speaker(device) as speaker:
        speaker.advance(RATE)
        assert speaker.played == 0


def test_sound_is_brought_to_the_rate_of_the_output() -> None:
    """A voice at 22,050 samples a second lasts as long on an output of 48,000."""
    output = MemoryOutput(48_000)
    with Speaker(output) as speaker:
        speaker.play(Sound(np.zeros(22_050, np.float32), 22_050))
        speaker.wait()
    assert len(output.sound.samples) == pytest.approx(48_000, abs=2)


def test_blocks_last_twenty_milliseconds_at_most() -> None:
    """No block is longer than 320 samples at 16,000 a second."""
    sizes: list[int] = []
    with Speaker(WatchedOutput(sizes.append)) as speaker:
        speaker.play(ramp(1000))
        speaker.advance(2000)
    assert max(np.diff([0, *sizes])) <= BLOCK


def test_nothing_is_heard_of_an_empty_sound() -> None:
    """No samples, no playing."""
    with Speaker(NullOutput()) as speaker:
        speaker.play(Sound(np.zeros(0, np.float32)))
        assert not speaker.playing


def test_a_loudspeaker_that_goes_away_is_told_to_the_next_caller() -> None:
    """The fault of the playing thread is raised where the caller can speak of it, and not lost."""
    device = Device()
    device.fault = SpeakingError("the loudspeaker has gone")
    with Speaker(device) as speaker:
        speaker.play(ramp(RATE))
        device.tick()
        with pytest.raises(SpeakingError, match="has gone"):
            speaker.wait(PATIENCE_S)
        with pytest.raises(SpeakingError, match="has gone"):
            speaker.play(ramp(1))
        assert not speaker.playing


def test_louder_bends_the_peaks_and_never_reaches_full_scale() -> None:
    """Twice as loud is twice the samples, except near full scale; quieter is exact."""
    samples = np.linspace(-1, 1, 201, dtype=np.float32)
    twice = louder(samples, 2.0)
    assert np.array_equal(louder(samples, 0.5), samples * np.float32(0.5))
    assert np.array_equal(louder(samples, 1.0), samples)
    assert np.allclose(twice[np.abs(samples) < 0.4], 2 * samples[np.abs(samples) < 0.4])
    assert np.max(np.abs(twice)) < 1
    assert np.all(np.diff(twice) >= 0)
