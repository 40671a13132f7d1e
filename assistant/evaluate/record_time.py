"""How long the record of a large job takes: a thousand steps with their fasteners, measurements and notes."""

import time
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from assistant.job.chain import START, follow
from assistant.job.events import (
    Event,
    Heard,
    JobOpened,
    Measured,
    NoteBegun,
    NoteEnded,
    PositionWorked,
    Replied,
    StepDone,
    StepReached,
)
from assistant.job.folder import JobFolder
from assistant.procedure.load import parse_procedure
from assistant.procedure.model import Step
from assistant.procedure.route import Route, route_through
from assistant.record.write import write_record
from assistant.sound import silence, write_sound
from assistant.torque.units import read_quantity

STEPS: Final = 1000
_HEAD: Final = """\
procedure: A large job, made up to be measured
revision: 1
demonstration: true
about: Nothing real.
cautions: Nothing real.
groups:
"""
_GROUP: Final = """\
  flange {number}:
    count: 8
    layout: {{circle: 8}}
    stages: [snug, {{torque: 20 N.m}}, {{torque: 40 N.m}}]
"""
_EVERY_GROUP, _EVERY_MEASUREMENT, _EVERY_NOTE = 20, 7, 25


def record_times(folder: Path) -> Iterator[tuple[str, str]]:
    """Write a large job into a folder, make its record, and tell how long that took."""
    text = _procedure()
    with JobFolder.create(folder / "jobs", "large", text) as job:
        route = route_through(parse_procedure(text, name="large"))
        _work(job, route)
        started, busy = time.perf_counter(), time.process_time()
        written = write_record(job, folder / "record")
        took_s, busy_s = time.perf_counter() - started, time.process_time() - busy
        sizes = {path.suffix: path.stat().st_size for path in written[:2]}
    yield (
        f"record of a job of {STEPS:,} steps, HTML, PDF, JSON and CSV",
        f"{took_s:.1f} s, {busy_s:.1f} s of it computing",
    )
    yield "its page and its PDF", f"{sizes['.html'] / 1e6:.1f} MB and {sizes['.pdf'] / 1e6:.1f} MB"


def _procedure() -> str:
    groups = "".join(_GROUP.format(number=number) for number in range(0, STEPS, _EVERY_GROUP))
    return _HEAD + groups + "steps:\n" + "".join(map(_step, range(STEPS)))


def _step(number: int) -> str:
    said = f"  - step: step-{number}\n    say: Do what is to be done at place {number}.\n"
    if number % _EVERY_GROUP == 0:
        return said + f"    tighten: flange {number}\n"
    if number % _EVERY_MEASUREMENT == 0:
        return said + "    measure: {what: the gap, least: 0.20 mm, most: 0.30 mm, gauge: 0.01 mm}\n"
    return said


def _work(job: JobFolder, route: Route) -> None:
    """Put a whole job on disk at once, as if it had been exported and brought back."""
    now, rows = datetime(2031, 3, 4, 8, tzinfo=UTC), [START]
    for turn, events in enumerate(_turns(job, route), start=1):
        rows += follow(rows[-1], turn, now + turn * timedelta(seconds=15), events)[0]
    job.journal.restore(rows[1:])


def _turns(job: JobFolder, route: Route) -> Iterator[Sequence[Event]]:
    heard = Heard(words="done", intents=("done",), engine="made up", confidence=0.9)
    title = route.procedure.procedure
    yield (JobOpened(job="large", procedure=title, revision=1, demonstration=True),)
    for number, step in enumerate(route.steps):
        for events in _acts(route, step):
            yield (heard, *events, Replied(words="Very well."))
        if number % _EVERY_NOTE == 0:
            note = number // _EVERY_NOTE + 1
            file = f"note-{note:04d}.flac"
            write_sound(job.sound / file, silence(2.0))
            yield (NoteBegun(note=note, file=file, step=step.step), NoteEnded(note=note, seconds=2.0))


def _acts(route: Route, step: Step) -> Iterator[tuple[Event, ...]]:
    yield (StepReached(step=step.step),)
    if step.tighten:
        for number, act in route.acts(step):
            yield (PositionWorked(group=step.tighten.group, number=number, act=act),)
    if step.measure:
        yield (Measured(step=step.step, value=read_quantity("0.25 mm"), verdict="in"),)
    yield (StepDone(step=step.step),)
