"""From what was asked for to a job that is open."""

from datetime import UTC, datetime
from pathlib import Path

from assistant.job.shelf import summaries
from assistant.work.opening import open_job
from tests.record.sample import PROCEDURE

TODAY = datetime(2031, 3, 4, tzinfo=UTC)


def test_a_start_that_was_killed_before_its_first_entry_leaves_no_trace(tmp_path: Path) -> None:
    """It is no job in the list, and whoever starts again gets the job under the name that it would have had."""
    names = []
    for _ in range(2):
        _, folder = open_job(str(PROCEDURE), tmp_path, new=None, route="", today=TODAY)
        names.append(folder.name)
        folder.close()
        assert summaries(tmp_path) == ()
    assert names[0] == names[1]
    assert len(list(tmp_path.iterdir())) == 1
    _, folder = open_job(str(PROCEDURE), tmp_path, new=names[0], route="", today=TODAY)
    folder.close()
