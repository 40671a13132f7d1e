"""Where speech begins and ends: the stream of blocks is cut into utterances.

A detector says how likely each block is speech; a small machine of three states (quiet, speech, talk) does the rest.
Speech may begin in doubt, but what never becomes plain is soon let go. In the quiet the detector begins afresh now and
then, lest it gets used to a noise. Speech keeps half a second of the sound before it, since the detector wakes up late
on soft first sounds, and ends when it has been quiet for a while. How long that is, `allow` says for the pause that
goes on: who was told of the pause may know better. Speech longer than any command is talk: it is told once, and nothing
is heard until it ends, or a nearer voice rises above it (`foreground`).
"""

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import islice
from typing import Final

import numpy as np

from assistant.hearing.detecting import Detector, SileroDetector
from assistant.hearing.foreground import Foreground
from assistant.hearing.sources import BLOCK
from assistant.sound import RATE, Samples

BLOCK_S: Final = BLOCK / RATE


@dataclass(frozen=True, eq=False)
class Utterance:
    """One stretch of speech: its samples, shape (n,), with some quiet before and after.

    `start_s` and `end_s` tell where the speech itself lies, in seconds from the start of the stream;
    `before_s` how much of the samples comes before it.
    """

    samples: Samples
    start_s: float
    end_s: float
    before_s: float = 0.0

    @property
    def speech_s(self) -> float:
        """How long the speech itself lasts, in seconds."""
        return self.end_s - self.start_s

    @property
    def speech(self) -> Samples:
        """The samples of the speech itself, shape (n,)."""
        start = round(self.before_s * RATE)
        return self.samples[start : start + round(self.speech_s * RATE)]


@dataclass(frozen=True)
class Started:
    """Speech began. It may still turn out too short to be any."""

    start_s: float


@dataclass(frozen=True)
class Paused:
    """Speech paused, and may have ended; if it does not go on, the same speech comes again: `Paused`, then `Ended`."""

    utterance: Utterance


@dataclass(frozen=True)
class Ended:
    """Speech ended, and this is it."""

    utterance: Utterance


@dataclass(frozen=True)
class TooLong:
    """Speech has become longer than any command; told once, and still going on at `end_s`."""

    start_s: float
    end_s: float


Event = Started | Paused | Ended | TooLong


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What counts as speech, and how long is what, in seconds."""

    # A block at least this likely begins speech. Of 271 clips without noise / at 10 / 5 / 0 dB, 2 / 1 / 3 / 9 were
    # never noticed with 0.5, and 0 / 0 / 1 / 3 with 0.2, for one more stretch of noise a minute that is refused.
    speech: float = 0.2
    # From this on it is speech beyond doubt: it begins there, if the doubt before it lasted for long, as a machine's
    # may. What stays in doubt for this long is none.
    plain: float = 0.5
    doubtful_s: float = 1.5
    # A block less likely than this is a pause in it, or than a share of the likeliest block so far where the detector
    # was never sure. With 0.35 the detector went on for 0.10 s after the last sound (median; 0.30 s at the 95th
    # percentile), with 0.5 for 0.09 s (0.18 s). With 0.45, of 121 real clips 0 / 4 / 12 were cut in pieces without
    # noise / at 10 / at 0 dB; with 0.35 it was 0 / 3 / 14 (where speech began at 0.5).
    quiet: float = 0.45
    quiet_share: float = 0.6
    before_s: float = 0.5
    # A pause this long is told, since it may be the end; with what the detector goes on, it is 0.12 s by then.
    # 0.064 s would save one decoding in ten, and cost 0.03 s every time.
    glance_s: float = 0.032
    # It is told once more, with some of the quiet after it: who was in doubt can hear it again before speech has ended.
    again_s: float = 0.288
    pause_s: float = 0.45  # a pause this long is the end, unless another was allowed
    shortest_s: float = 0.09
    longest_s: float = 10.0
    # So long after it began, the detector begins afresh in the quiet, with the sound before it. Left to itself it gets
    # used to music and machines, and then to the voice in them: of 159 commands in 23 minutes of changing noise at
    # 10 dB, 37 were never noticed, and none with this, for one more stretch of noise in two minutes that is refused.
    fresh_s: float = 8.0


@dataclass
class Endpointer:
    """Cuts a stream of blocks into utterances."""

    detector: Detector = field(default_factory=SileroDetector)
    limits: Limits = field(default_factory=Limits)

    def __post_init__(self) -> None:
        self._count = 0
        self._fresh_at = 0
        self._spoken = 0  # how far the stream belongs to speech that has ended
        self._recent: deque[Samples] = deque(maxlen=_blocks_in(self.limits.before_s))
        self._foreground = Foreground()
        self._taken: list[Samples] = []
        self._lead = 0
        self._first: int | None = None
        self._is_talk = False
        self._forget()

    def push(self, block: Samples, *, is_own: bool = False) -> list[Event]:
        """Take the next block, shape (512,), and say what it brought; `is_own` where only the own voice is in it."""
        self._count += 1
        if self._first is None and self._count - self._fresh_at >= _blocks_in(self.limits.fresh_s):
            self._refresh()
        likely = self.detector.probability(block)
        if self._foreground.push(block, is_speech=is_own or likely >= self.limits.quiet):
            self._clear()
        likely *= not is_own
        likely *= not self._foreground.is_over
        events = self._in_quiet(block, likely) if self._first is None else self._in_speech(block, likely)
        self._recent.append(block)
        return events

    def skip(self) -> None:
        """Let a block pass that is heard otherwise or not at all, so that times stay those of the stream."""
        self._count += 1

    def allow(self, pause_s: float) -> None:
        """Let the pause that goes on be the end when it is this long, in seconds; forgotten when speech goes on."""
        self._allowed_s = pause_s

    def flush(self) -> list[Event]:
        """End the speech that is going on, as at the end of the stream, and start afresh."""
        events = self._end() if self._first is not None else []
        self._recent.clear()
        self._refresh()
        return events

    def _refresh(self) -> None:
        """Let the detector forget all but the sound just before."""
        self._fresh_at = self._count
        self.detector.reset()
        for block in self._recent:
            self.detector.probability(block)

    def _in_quiet(self, block: Samples, likely: float) -> list[Event]:
        if likely < self.limits.speech:
            if self._foreground.is_over:
                self._foreground.end()
            return []
        self._first, self._last, self._likeliest = self._count, self._count, likely
        self._speech_blocks = 1
        self._lead = min(len(self._recent), self._count - 1 - self._spoken)
        self._taken = [*islice(self._recent, len(self._recent) - self._lead, None), block]
        return [Started(self._start_s)]

    def _in_speech(self, block: Samples, likely: float) -> list[Event]:
        if self._is_no_speech(likely):
            self._forget()
            return self._in_quiet(block, likely)
        if not self._is_talk:
            self._taken.append(block)
        self._likeliest = max(self._likeliest, likely)
        if likely >= min(self.limits.quiet, self.limits.quiet_share * self._likeliest):
            self._last = self._count
            self._speech_blocks += 1
            self._allowed_s = self.limits.pause_s
        if self._silent >= _blocks_in(self._allowed_s):
            return self._end()
        told = (_blocks_in(self.limits.glance_s), _blocks_in(self.limits.again_s))
        if self._silent in told and self._is_speech:
            return [Paused(self._utterance())]
        if not self._is_talk and self._end_s - self._start_s > self.limits.longest_s:
            self._is_talk = True
            self._taken = []
            return [TooLong(self._start_s, self._end_s)]
        return []

    def _is_no_speech(self, likely: float) -> bool:
        """Tell whether all before a block of this likelihood was doubtful, and too long to belong to it."""
        lasted_s = (self._count - (self._first or 0)) * BLOCK_S
        longest_s = self.limits.before_s if likely >= self.limits.plain else self.limits.doubtful_s
        return self._likeliest < self.limits.plain and lasted_s > longest_s

    def _end(self) -> list[Event]:
        events: list[Event] = [Ended(self._utterance())] if self._is_speech else []
        self._spoken = self._last  # what closed this utterance is the quiet before the next one
        self._forget()
        return events

    def _forget(self) -> None:
        self._foreground.end()
        self._clear()

    def _clear(self) -> None:
        self._first = None
        self._last = 0
        self._likeliest = 0.0
        self._speech_blocks = 0
        self._taken = []
        self._is_talk = False
        self._allowed_s = self.limits.pause_s

    def _utterance(self) -> Utterance:
        return Utterance(
            np.concatenate(self._taken), self._start_s, self._end_s, before_s=self._lead * BLOCK_S
        )

    @property
    def talk_s(self) -> float:
        """How long the talk lasts that goes on, in seconds: nothing is heard until it ends; 0 where there is none."""
        return self._count * BLOCK_S - self._start_s if self._is_talk else 0.0

    @property
    def _is_speech(self) -> bool:
        return not self._is_talk and self._speech_blocks >= _blocks_in(self.limits.shortest_s)

    @property
    def _silent(self) -> int:
        """How many blocks the pause has lasted that goes on."""
        return self._count - self._last

    @property
    def _start_s(self) -> float:
        return ((self._first or 1) - 1) * BLOCK_S

    @property
    def _end_s(self) -> float:
        return self._last * BLOCK_S


def utterances(blocks: Iterable[Samples], endpointer: Endpointer) -> Iterable[Event]:
    """Cut a whole stream, to its end."""
    for block in blocks:
        yield from endpointer.push(block)
    yield from endpointer.flush()


def _blocks_in(seconds: float) -> int:
    return max(1, round(seconds / BLOCK_S))
