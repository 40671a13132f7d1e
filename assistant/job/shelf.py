"""All jobs of a folder at a glance, and the one that a mechanic means."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from assistant.job.events import JobOpened
from assistant.job.fold import replay
from assistant.job.folder import JobFolder, list_jobs


@dataclass(frozen=True, kw_only=True)
class JobSummary:
    """One job: what it is about, when it was begun and last worked on, and how far it is."""

    name: str
    procedure: str
    route: str
    began: datetime
    last: datetime
    steps_done: int
    closed: bool


def summary(jobs_dir: Path, name: str) -> JobSummary:
    """Sum up one job that `list_jobs` gives, without holding it. Raises JobError as `JobFolder.open` does."""
    with JobFolder.open(jobs_dir, name, hold=False) as folder:
        entries = tuple(folder.journal.entries())
    state = replay(entries)
    opened = next((entry.event for entry in entries if isinstance(entry.event, JobOpened)), None)
    return JobSummary(
        name=name,
        procedure=opened.procedure if opened else "",
        route=state.route,
        began=entries[0].at,
        last=entries[-1].at,
        steps_done=len(state.done),
        closed=state.closed,
    )


def summaries(jobs_dir: Path) -> tuple[JobSummary, ...]:
    """Sum up every job of a folder, by name."""
    return tuple(summary(jobs_dir, name) for name in list_jobs(jobs_dir))


def open_jobs_on(jobs_dir: Path, procedure: str) -> tuple[JobSummary, ...]:
    """Give the jobs on a procedure (by its title) that are not closed, on any route, the one worked on last first."""
    found = [each for each in summaries(jobs_dir) if each.procedure == procedure and not each.closed]
    return tuple(sorted(found, key=lambda each: each.last, reverse=True))
