"""What time it is in a job, and that it never goes back, through whichever door the job is gone on with."""

import io
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from assistant.job.folder import JobFolder, list_jobs
from assistant.sound import silence, write_sound
from assistant.work.clock import WallClock, clock_of_recording, far_ahead
from assistant.work.session import Doors, work_job
from tests.record.sample import PROCEDURE

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


class Wall:
    """A clock on a wall, set by hand."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        """Tell the time."""
        return self.at


def test_a_job_that_stood_ahead_goes_on_from_there_at_the_walls_pace() -> None:
    """A wait that is started then lasts as long as it should, though the wall is an hour behind."""
    wall = Wall(NOON)
    clock = WallClock(NOON + HOUR, wall=wall)
    assert clock.now() == NOON + HOUR
    wall.at += timedelta(minutes=5)
    assert clock.now() == NOON + HOUR + timedelta(minutes=5)


def test_a_job_that_stood_in_the_past_goes_on_by_the_wall() -> None:
    """A night passes as it did."""
    assert WallClock(NOON - HOUR, wall=Wall(NOON)).now() == NOON
    assert WallClock(wall=Wall(NOON)).now() == NOON


def test_a_clock_that_is_set_back_during_work_does_not_take_the_job_back() -> None:
    """Time goes on from where it was."""
    wall = Wall(NOON)
    clock = WallClock(wall=wall)
    clock.pass_time(60.0)
    told = [clock.now()]
    for step in (timedelta(seconds=1), -HOUR, timedelta(seconds=1)):
        wall.at += step
        told.append(clock.now())
    assert told == sorted(told)
    assert told[-1] == NOON + timedelta(seconds=62)


def test_a_recording_ends_when_it_is_heard() -> None:
    """It was made before that, in the zone of the machine."""
    here = timezone(timedelta(hours=9))
    clock = clock_of_recording(600.0, NOON.astimezone(here), None)
    assert clock.now() == NOON - timedelta(minutes=10)
    assert clock.now().utcoffset() == timedelta(hours=9)
    clock.move_to(600.0)
    assert clock.now() == NOON


def test_a_recording_begins_where_its_job_stood() -> None:
    """Where it is longer than the time since then, it is not put before what was recorded already."""
    assert clock_of_recording(600.0, NOON, NOON - HOUR).now() == NOON - timedelta(minutes=10)
    assert clock_of_recording(600.0, NOON, NOON - timedelta(minutes=1)).now() == NOON - timedelta(minutes=1)
    assert clock_of_recording(600.0, NOON, NOON + HOUR).now() == NOON + HOUR


def test_whichever_door_a_job_is_gone_on_with_time_goes_on(tmp_path: Path) -> None:
    """Typed, with time let pass, heard in a recording of half a minute, and typed again at once."""
    recording = tmp_path / "silence.wav"
    write_sound(recording, silence(30.0))
    before, ended = datetime.now(UTC), []
    for hear, typed in (
        (str(recording), ""),
        ("text", "yes\nyes\n(45 min later)\nwhere am i\n"),
        (str(recording), ""),
        ("text", "where am i\n"),
    ):
        doors = Doors(hear=hear, speak="none", engine="pocketsphinx", as_json=True)
        work_job(
            str(PROCEDURE), tmp_path, doors, new=None, route="", typed=io.StringIO(typed), out=io.StringIO()
        )
        ended.append(datetime.now(UTC))
    (job,) = list_jobs(tmp_path)
    with JobFolder.open(tmp_path, job, hold=False) as folder:
        times = [entry.at for entry in folder.journal.entries()]
    assert times == sorted(times)
    assert times[0] <= ended[0] - timedelta(seconds=30), "the recording was made before it was heard"
    assert times[-1] > before + timedelta(minutes=45), "what was said to have passed stays so"


def test_a_job_that_stands_far_ahead_is_told_with_what_to_do() -> None:
    """More than a day is told; what a zone, a summer or a wait let pass makes is not."""
    assert far_ahead(None, NOON) == ""
    assert far_ahead(NOON + 23 * HOUR, NOON) == ""
    assert far_ahead(NOON - 1000 * HOUR, NOON) == ""
    told = far_ahead(NOON + 25 * HOUR, NOON)
    assert "2026-03-03 13:00" in told
    assert "2026-03-02 12:00" in told
    assert "--new" in told


def test_it_is_told_when_such_a_job_is_taken_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Once, on the error stream, and only from then on."""
    told = []
    for typed in ("yes\n(72 h later)\nwhere am i\n", "where am i\nwhere am i\n"):
        doors = Doors(hear="text", speak="none")
        work_job(
            str(PROCEDURE), tmp_path, doors, new=None, route="", typed=io.StringIO(typed), out=io.StringIO()
        )
        told.append(capsys.readouterr().err.count("the job's last entry is of"))
    assert told == [0, 1]
