"""What a job teaches about its procedure: the plan against what happened, and edits drafted for the author.

Facts become comments above the step that they are about. A value is touched only where the job gives a
better one: the revision, and a wait that proved too short. Everything else of the author's file stays as
it is, to the letter; whether an edit is kept is the author's to say.
"""

import difflib
import re
import textwrap
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any, Final

from ruamel.yaml import YAML

from assistant.dialogue.names import things
from assistant.errors import RecordError
from assistant.job.events import (
    CheckAnswered,
    Entry,
    PositionReopened,
    Refused,
    StepDone,
    StepReached,
    StepReopened,
    TimerStarted,
    Undone,
)
from assistant.job.folder import JobFolder
from assistant.procedure.expand import expanded
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import Route
from assistant.record.model import Record
from assistant.record.words import duration
from assistant.record.write import read_record

_WIDTH: Final = 96
_ROUNDED_MIN: Final = 5
_OFTEN: Final = 3
"""How often something must be misheard at a step to be worth a line."""
_LONGEST: Final = 5
_LIKE: Final = 0.6


@dataclass(frozen=True)
class Lessons:
    """What a job teaches: lines to read, and edits as a unified patch ("" where there are none)."""

    lines: tuple[str, ...]
    patch: str


@dataclass
class _Found:
    """What was found for the steps, by name: remarks, and waits that should be at least so many minutes."""

    remarks: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    waits: dict[str, int] = field(default_factory=dict)


def lessons_of(folder: JobFolder, text: str | None, *, name: str) -> Lessons:
    """Compare a job with its procedure; `text` is the author's file, by default the job's own copy.

    Raises RecordError where nothing is recorded, JobError or ProcedureError where the job or the text
    cannot be read.
    """
    route, record = read_record(folder)
    entries = tuple(folder.journal.entries())
    found = _Found()
    _departures(record, found)
    _again(route, entries, found)
    _waits(route, entries, found)
    _notes(record, found)
    _misheard(route, entries, found)
    original = folder.procedure_text if text is None else text
    edited = _edited(original, found, f"{record.head.job}, {record.head.began:%Y-%m-%d}", name)
    return Lessons((*_times(record), *_told(route, found)), _patch(original, edited, name))


def _times(record: Record) -> Iterator[str]:
    """Say how long the steps took, the longest first; pauses are not counted."""
    took: Counter[int] = Counter()
    for span in record.spans:
        if span.what == "step":
            took[span.number] += round((span.ended - span.began).total_seconds())
    says = {row.number: row.say for row in record.steps}
    yield f"{duration(sum(took.values()))} of work at {len(took)} of {len(says)} steps. The longest:"
    for number, seconds in took.most_common(_LONGEST):
        yield f"  {duration(seconds)}: step {number}, {says[number]}"


def _departures(record: Record, found: _Found) -> None:
    for row in record.departures:
        found.remarks[row.step].append(f"{row.what}, because: {row.reason}")


def _again(route: Route, entries: Sequence[Entry], found: _Found) -> None:
    """Count what had to be done again: turns taken back, positions reopened, checks answered with no."""
    here = route.steps[0].step
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for entry in entries:
        event = entry.event
        if isinstance(event, StepReached):
            here = event.step
        elif isinstance(event, Undone):
            counts[here]["taken back"] += 1
        elif isinstance(event, PositionReopened):
            counts[here][f"position {event.position} done again"] += 1
        elif isinstance(event, CheckAnswered) and not event.passed:
            counts[event.step]["answered with no"] += 1
        elif isinstance(event, StepReopened):
            counts[event.step]["opened again"] += 1
    for step, counted in counts.items():
        found.remarks[step] += [f"{what} {times(count)}" for what, count in counted.items()]


def times(count: int) -> str:
    """Say how often."""
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _waits(route: Route, entries: Sequence[Entry], found: _Found) -> None:
    """Find waits whose end test failed at first: how long it was until it passed is what they need."""
    began = {entry.event.step: entry.at for entry in entries if isinstance(entry.event, TimerStarted)}
    failed: set[str] = set()
    for entry in entries:
        event = entry.event
        if not isinstance(event, CheckAnswered) or event.step not in began:
            continue
        if not event.passed:
            failed.add(event.step)
        elif event.step in failed and (wait := route.step(event.step).wait):
            needed = (entry.at - began[event.step]) / timedelta(minutes=1)
            minutes = -int(-needed // _ROUNDED_MIN) * _ROUNDED_MIN
            if minutes > float(wait.least.exact("min")):
                found.waits[event.step] = minutes
                found.remarks[event.step].append(
                    f"the wait of {wait.least} was too short; it took {minutes} min"
                )


def _notes(record: Record, found: _Found) -> None:
    for note in record.notes:
        if note.matter == "for next time":
            about = f" on {note.about}" if note.about else ""
            words = f": {note.text}" if note.text else f" has no text yet; listen to {note.file}"
            found.remarks[note.step].append(f"for next time, note {note.note}{about}{words}")


def _misheard(route: Route, entries: Sequence[Entry], found: _Found) -> None:
    """Count what had to be said again at each step, and which name it was most like."""
    here = route.steps[0].step
    asked: Counter[str] = Counter()
    like: dict[str, Counter[str]] = defaultdict(Counter)
    names = things(route)
    for entry in entries:
        event = entry.event
        if isinstance(event, StepReached | StepDone):
            here = event.step
        elif isinstance(event, Refused) and event.asked_again:
            asked[here] += 1
            like[here].update(difflib.get_close_matches(event.words, names, n=1, cutoff=_LIKE))
    for step, count in asked.items():
        if count >= _OFTEN or like[step]:
            named = f', most like the name "{like[step].most_common(1)[0][0]}"' if like[step] else ""
            found.remarks[step].append(f"something had to be said again {times(count)}{named}")


def _told(route: Route, found: _Found) -> Iterator[str]:
    if not any(found.remarks.values()):
        yield "Nothing went otherwise than planned."
    for step, remarks in found.remarks.items():
        number = f"Step {route.place(step) + 1} ({step})" if step else "The job"
        yield from (f"{number}: {remark}" for remark in remarks)


def _edited(text: str, found: _Found, job: str, name: str) -> str:
    """Write remarks as comments above their steps, and better values in the place of the old ones."""
    if not any(found.remarks.values()):
        return text
    data: Any = YAML(typ="rt").load(text)
    lines = text.splitlines(keepends=True)
    _replace(lines, data.lc.value("revision"), str(data["revision"]), str(int(data["revision"]) + 1))
    places = _places(data, name)
    for step, minutes in found.waits.items():
        if step in places and isinstance(places[step][1].get("wait"), dict):
            wait = places[step][1]["wait"]
            _replace(lines, wait.lc.value("least"), str(wait["least"]), f"{minutes} min")
    inserted: dict[int, list[str]] = defaultdict(list)
    for step, remarks in found.remarks.items():
        if step in places:
            line = places[step][0]
            indent = lines[line][: len(lines[line]) - len(lines[line].lstrip())]
            # A step that stands there once and is written out several times: say which of them it was.
            which = "" if step in re.split(r"[^a-z0-9-]+", lines[line]) else f"{step}: "
            inserted[line] += _comments([which + remark for remark in remarks], indent, job)
    edited = "".join("".join((*inserted[number], line)) for number, line in enumerate(lines))
    return _checked(edited, data, name)


def _places(data: Any, name: str) -> dict[str, tuple[int, Any]]:
    """Give for each step, those of repeats and sub-procedures too, its line in the file (from 0) and its keys."""
    steps = expanded(data, name)["steps"]
    return {step["step"]: (steps.lc.item(number)[0], step) for number, step in enumerate(steps)}


def _replace(lines: list[str], place: tuple[int, int], old: str, new: str) -> None:
    """Put a value in the place of another, where it stands there as it was read."""
    line, column = place
    before, after = lines[line][:column], lines[line][column:]
    if after.startswith(old):
        lines[line] = before + new + after[len(old) :]


def _comments(remarks: Iterable[str], indent: str, job: str) -> Iterator[str]:
    for remark in remarks:
        words = " ".join(f"{remark} ({job})".split())
        lines = textwrap.wrap(words, _WIDTH - len(indent), break_on_hyphens=False)
        yield from (f"{indent}# {line}\n" for line in lines)


def _checked(edited: str, data: Any, name: str) -> str:
    """Give the edited text if it still is the same procedure, but for what was meant to change."""
    parse_procedure(edited, name=name)
    again: Any = YAML(typ="rt").load(edited)
    if [*_places(data, name)] != [*_places(again, name)] or set(data) != set(again):
        raise RecordError(
            "the edits would change more than was meant", where=name, do="edit the file by hand"
        )
    return edited


def _patch(original: str, edited: str, name: str) -> str:
    made = difflib.unified_diff(
        original.splitlines(keepends=True), edited.splitlines(keepends=True), fromfile=name, tofile=name
    )
    return "".join(
        line if line.endswith("\n") else f"{line}\n\\ No newline at end of file\n" for line in made
    )
