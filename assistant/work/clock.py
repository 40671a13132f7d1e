"""What time it is in a job: the wall's, or one that is moved by hand (a recording, a demonstration)."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Final, Protocol


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> datetime:
        """Give the time, with its zone."""
        ...


def _wall() -> datetime:
    return datetime.now(UTC).astimezone()


class WallClock:
    """The wall's time, moved on by what was said to have passed.

    It never goes back: not behind `last`, where a job stood, nor behind what it told before. Where the wall's time is
    behind that (what was said to have passed has not, or the clock was set), it goes on from there at the wall's pace,
    so that a wait lasts as long as it should.
    """

    def __init__(self, last: datetime | None = None, *, wall: Callable[[], datetime] = _wall) -> None:
        self._last = last
        self._wall = wall
        self._ahead = timedelta()

    def now(self) -> datetime:
        """Give the time, in the zone of this machine, since that is the clock people go by."""
        now = self._wall() + self._ahead
        if self._last is not None and now < self._last:
            self._ahead += self._last - now
            now = self._last.astimezone(now.tzinfo)
        self._last = now
        return now

    def pass_time(self, seconds: float) -> None:
        """Let that many seconds pass at once."""
        self._ahead += timedelta(seconds=seconds)


_FAR: Final = timedelta(days=1)


def far_ahead(last: datetime | None, now: datetime) -> str:
    """Say what is wrong and what to do where a job stood, at `last`, more than a day ahead of the wall's time, else "".

    Its clock goes on from there, and nobody would notice.
    """
    if last is None or last - now <= _FAR:
        return ""
    return (
        f"the job's last entry is of {last.astimezone(now.tzinfo):%Y-%m-%d %H:%M}, and the clock here says"
        f" {now:%Y-%m-%d %H:%M}; what is recorded now goes on from the former. Set this clock where it is"
        " wrong; where it is right, note the true time in the job, or start another with --new"
    )


class MovedClock:
    """A clock that stands until it is moved; it never goes back."""

    def __init__(self, start: datetime) -> None:
        self._start = start
        self._seconds = 0.0

    def now(self) -> datetime:
        """Give the time, in the zone of its start."""
        return self._start + timedelta(seconds=self._seconds)

    def move_to(self, seconds: float) -> None:
        """Move it to that many seconds after its start, if it is not there yet."""
        self._seconds = max(self._seconds, seconds)

    def pass_time(self, seconds: float) -> None:
        """Let that many seconds pass at once."""
        self._seconds += seconds


def clock_of_recording(seconds: float, heard: datetime, last: datetime | None) -> MovedClock:
    """Give the clock of a recording: its end is when it was `heard`, since it was made before that.

    Where that would begin it before `last`, where its job stood, it begins there.
    """
    start = heard - timedelta(seconds=seconds)
    return MovedClock(max(start, last or start).astimezone(heard.tzinfo))


def ahead_min(now: datetime) -> int:
    """Say how many minutes a clock is ahead of UTC."""
    return round((now.utcoffset() or timedelta()) / timedelta(minutes=1))
