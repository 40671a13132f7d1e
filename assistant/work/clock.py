"""What time it is in a job: the wall's, or one that is moved by hand (a recording, a demonstration)."""

from datetime import UTC, datetime, timedelta
from typing import Protocol


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> datetime:
        """Give the time, with its zone."""
        ...


class WallClock:
    """The wall's time, moved on by what was said to have passed."""

    def __init__(self) -> None:
        self._ahead = timedelta()

    def now(self) -> datetime:
        """Give the time, in the zone of this machine, since that is the clock people go by."""
        return datetime.now(UTC).astimezone() + self._ahead

    def pass_time(self, seconds: float) -> None:
        """Let that many seconds pass at once."""
        self._ahead += timedelta(seconds=seconds)


class MovedClock:
    """A clock that stands until it is moved; it never goes back."""

    def __init__(self, start: datetime) -> None:
        self._start = start
        self._seconds = 0.0

    def now(self) -> datetime:
        """Give the time, in UTC."""
        return self._start + timedelta(seconds=self._seconds)

    def move_to(self, seconds: float) -> None:
        """Move it to that many seconds after its start, if it is not there yet."""
        self._seconds = max(self._seconds, seconds)

    def pass_time(self, seconds: float) -> None:
        """Let that many seconds pass at once."""
        self._seconds += seconds


def ahead_min(now: datetime) -> int:
    """Say how many minutes a clock is ahead of UTC."""
    return round((now.utcoffset() or timedelta()) / timedelta(minutes=1))
