"""Playing that can be stopped: at most 800 more samples, of 16,000 a second, after `stop`.

Sound is written in blocks of 20 ms (320 samples). When `stop` comes, only the block being written
still goes out; then the output is told to drop what it holds, which is 30 ms (480 samples) at most.

To a loudspeaker the writing is done by a thread, so that hearing can go on and say stop. Other
outputs play when they are told how much time has passed (`advance`) or all at once (`wait`): a
recorded session runs on its own clock, the same every time.
"""

import threading
from collections import deque
from collections.abc import Callable
from types import TracebackType
from typing import Final, Self

import numpy as np

from assistant.errors import SpeakingError
from assistant.sound import Samples, Sound
from assistant.speaking.outputs import BLOCKS_PER_SECOND, Output

MOST_SAMPLES_AFTER_STOP: Final = 800
"""What may still be heard once `stop` has been called, of 16,000 samples a second."""

_KNEE: Final = np.float32(0.8)


class Speaker:
    """Plays sounds one after another into an output; every method may be called from any thread.

    `on_played` gets each block, shape (n,), with its rate, when it goes to the output.
    """

    def __init__(
        self, output: Output, *, on_played: Callable[[Samples, int], None] = lambda _block, _rate: None
    ) -> None:
        self._output = output
        self._on_played = on_played
        self._most = output.rate // BLOCKS_PER_SECOND
        self._queue: deque[Samples] = deque()
        self._changed = threading.Condition()  # guards everything below
        self._played = 0
        self._sounding = False  # a live output holds sound that may not have been heard yet
        self._stopping = False
        self._closed = False
        self._failed: SpeakingError | None = None
        self._writing = threading.Lock()  # one thread at a time plays into an output that is not live
        self._thread = threading.Thread(target=self._serve, name="speaker", daemon=True)
        if output.live:
            self._thread.start()

    @property
    def playing(self) -> bool:
        """Whether something is being heard or waits to be."""
        with self._changed:
            return self._busy()

    @property
    def played(self) -> int:
        """How many samples have gone to the output, at the output's rate."""
        with self._changed:
            return self._played

    def play(self, sound: Sound, *, loudness: float = 1.0) -> None:
        """Play a sound after those that are waiting; returns at once.

        `loudness` 1 is as the sound was made; where more would cut the peaks, they are rounded off.
        Raises SpeakingError where the output has failed.
        """
        samples = louder(sound.at(self._output.rate).samples, loudness)
        with self._changed:
            self._complain()
            if len(samples):
                self._queue.append(samples)
            self._changed.notify_all()

    def stop(self) -> None:
        """Stop what is heard and forget what waits; returns at once, and does nothing in silence."""
        with self._changed:
            self._queue.clear()
            self._stopping = self._sounding
            self._changed.notify_all()

    def advance(self, samples: int) -> None:
        """Let that much time pass, in samples at the output's rate; silence fills what nothing fills.

        A live output has a clock of its own: nothing happens.
        """
        left = 0 if self._output.live else samples
        with self._writing:
            while left > 0:
                most = min(left, self._most)
                block = self._take(most)
                block = np.zeros(most, np.float32) if block is None else block
                self._write(block)
                left -= len(block)

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait until everything has been heard; False where the time ran out first.

        An output that is not live is played to the end at once. Raises SpeakingError where it failed.
        """
        if not self._output.live:
            with self._writing:
                while (block := self._take(self._most)) is not None:
                    self._write(block)
        with self._changed:
            done = self._changed.wait_for(lambda: not self._busy(), timeout_s)
            self._complain()
        return done

    def close(self) -> None:
        """Stop, and give the output back."""
        self.stop()
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        if self._output.live:
            self._thread.join()
        self._output.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _busy(self) -> bool:
        return bool(self._queue) or self._sounding

    def _complain(self) -> None:
        if self._failed:
            raise self._failed

    def _take(self, most: int) -> Samples | None:
        with self._changed:
            if not self._queue:
                return None
            block, rest = np.split(self._queue.popleft(), [most])
            if len(rest):
                self._queue.appendleft(rest)
            self._sounding = self._output.live
            return block

    def _write(self, block: Samples) -> None:
        self._on_played(block, self._output.rate)
        self._output.write(block)
        with self._changed:
            self._played += len(block)

    def _serve(self) -> None:
        """Play into a live output until closed; what goes wrong is told to the next caller."""
        try:
            while self._serve_block():
                pass
        except SpeakingError as error:
            with self._changed:
                self._failed = error
                self._queue.clear()
                self._sounding = False
                self._changed.notify_all()

    def _serve_block(self) -> bool:
        with self._changed:
            self._changed.wait_for(lambda: self._busy() or self._closed)
            if self._closed:
                return False
            block = None if self._stopping else self._take(self._most)
        if block is not None:
            self._write(block)
        elif not self._more_comes():
            self._rest()
            with self._changed:
                self._sounding = self._stopping = False
                self._changed.notify_all()
        return True

    def _rest(self) -> None:
        if self._stopping:
            self._output.drop()
        else:
            self._output.drain()

    def _more_comes(self) -> bool:
        """Let the device play what it holds; cut short by the next sound, or by `stop`."""
        with self._changed:
            self._changed.wait_for(
                lambda: self._queue or self._stopping or self._closed, self._output.latency_s
            )
            return bool(self._queue) and not self._stopping


def louder(samples: Samples, loudness: float) -> Samples:
    """Scale samples of shape (n,); what would pass 0.8 of full scale is bent to stay below full scale."""
    scaled = samples * np.float32(loudness)
    if loudness <= 1:
        return scaled
    over = np.maximum(np.abs(scaled) - _KNEE, 0)
    bent = _KNEE + (1 - _KNEE) * np.tanh(over / (1 - _KNEE))
    return np.where(over > 0, np.copysign(bent, scaled), scaled).astype(np.float32)
