"""From a job's entries to its record. Pure: no clock, no file; the same entries give the same record.

What counts is the fold of the entries (`job.fold`), as everywhere; the entries that were not taken
back add when each thing was done.
"""

from collections.abc import Callable, Sequence
from datetime import timedelta, timezone
from typing import Literal

from assistant.errors import RecordError
from assistant.job.closeout import open_items
from assistant.job.events import (
    Entry,
    Event,
    Heard,
    JobClosed,
    JobOpened,
    JobTakenUp,
    PositionWorked,
    Refused,
    Undone,
)
from assistant.job.fold import replay
from assistant.procedure.conditions import applies
from assistant.procedure.model import Step
from assistant.procedure.route import Route
from assistant.record import model
from assistant.record.counted import Counted, E
from assistant.record.fasteners import group_rows
from assistant.record.histories import waits
from assistant.record.kept import notes, pictures
from assistant.record.kept_things import part_rows, removed_rows, tool_rows
from assistant.record.spans import spans
from assistant.record.timeline import question_of, taken_back, time_line, undone_turns
from assistant.record.values import measurements
from assistant.record.words import left_open_words, open_words
from assistant.record.wrenches import wrenches


def gather(route: Route, entries: Sequence[Entry], seal: str = "") -> model.Record:
    """Make the record of a job; `seal` is the hash of its journal's last entry.

    Raises RecordError where nothing is recorded yet, or the entries speak of what the procedure has not.
    """
    opened = entries[0].event if entries else None
    if not isinstance(opened, JobOpened):
        raise RecordError("nothing is recorded in this job yet", do="begin it first")
    _refuse_foreign(route, entries)
    entries = _local(entries, opened)
    undone = undone_turns(entries)
    counting = [entry for entry in entries if not taken_back(entry, undone)]
    job = Counted(route, entries, counting, replay(entries))
    return model.Record(
        journal=model.Seal(entries=len(entries), hash=seal),
        demonstration=route.procedure.demonstration,
        demonstration_words=model.DEMONSTRATION if route.procedure.demonstration else "",
        head=_head(job, opened),
        open_items=_open(job),
        cautions=route.procedure.cautions,
        steps=tuple(_step(job, step) for step in route.steps),
        wrenches=wrenches(job),
        groups=group_rows(job),
        measurements=measurements(job),
        notes=notes(job),
        pictures=pictures(job),
        departures=_departures(job),
        parts=part_rows(job),
        tools=tool_rows(job),
        removed=removed_rows(job),
        waits=waits(job),
        talk=_talk(job),
        spans=spans(route, entries),
        time_line=time_line(route, entries),
    )


def _local(entries: Sequence[Entry], opened: JobOpened) -> tuple[Entry, ...]:
    """Put the times by the clock where the job began, which is the one that was spoken of, and cuts the days."""
    zone = timezone(timedelta(minutes=opened.utc_offset_min))
    return tuple(entry.model_copy(update={"at": entry.at.astimezone(zone)}) for entry in entries)


def _refuse_foreign(route: Route, entries: Sequence[Entry]) -> None:
    """Say so where the procedure beside the journal is not the one that was worked to."""
    steps = {"", *(step.step for step in route.steps)}
    for entry in entries:
        step = getattr(entry.event, "step", "")
        strange = _strange_position(route, entry.event) if step in steps else step
        if strange:
            raise RecordError(
                f"the journal speaks of {strange}, which the procedure of this job does not have",
                where=f"entry {entry.seq}",
                do="put the job's procedure.yaml back as it was",
            )


def _strange_position(route: Route, event: Event) -> str:
    if not isinstance(event, PositionWorked):
        return ""
    group = route.procedure.groups.get(event.group)
    there = group is not None and event.act.position <= group.count
    return "" if there else f"position {event.act.position} of {event.group}"


def _head(job: Counted, opened: JobOpened) -> model.Head:
    closed = job.all(JobClosed)
    named = (entry.event.who for entry in job.entries if isinstance(entry.event, JobOpened | JobTakenUp))
    return model.Head(
        job=opened.job,
        machine=opened.machine,
        people=tuple(dict.fromkeys(who for who in (*named, *job.state.seen_by.values()) if who)),
        procedure=opened.procedure,
        revision=opened.revision,
        route=opened.route,
        about=job.route.procedure.about.strip(),
        began=job.entries[0].at,
        zone=job.entries[0].at.tzname() or "",
        ended=job.entries[-1].at,
        closed=closed[-1][0] if closed else None,
        close_reason=closed[-1][1].reason if closed else "",
        closed_by=job.state.who if closed else "",
        closed_with=_accepted(job, closed[-1][1]) if closed else (),
        paused=job.state.paused,
        steps_done=len(job.state.done),
        steps_total=sum(applies(step, job.state.decisions) for step in job.route.steps),
    )


def _accepted(job: Counted, closed: JobClosed) -> tuple[str, ...]:
    """Name what was open when the job was closed, each with the reason that was given for it."""
    reasons = job.state.accepted_open
    named = {item: left_open_words(job.route, item) for item in closed.open_items}
    return tuple(f"{named[item]}: {reasons[item]}" if item in reasons else named[item] for item in named)


def _open(job: Counted) -> tuple[model.Open, ...]:
    rows = []
    for item in open_items(job.route, job.state):
        what, detail = open_words(job.route, job.state, item)
        rows.append(
            model.Open(kind=item.kind, number=job.number(item.step), step=item.step, what=what, detail=detail)
        )
    return tuple(rows)


def _step(job: Counted, step: Step) -> model.StepRow:
    name, state = step.step, job.state
    standing = _standing(job, step)
    settled = {"done": "step-done", "suspect": "step-done", "left out": "step-skipped"}.get(standing, "")
    return model.StepRow(
        number=job.number(name),
        step=name,
        say=step.say,
        standing=standing,
        at=job.settled.get((name, settled)),
        reason=state.skipped.get(name, ""),
        question=step.decide.ask if step.decide else question_of(job.route, name),
        answer=_decided(job, step) or job.answer(name),
        seen_by=state.seen_by.get(name, ""),
    )


def _standing(job: Counted, step: Step) -> Literal["done", "left out", "open", "suspect", "not needed"]:
    if step.step in job.state.suspect:
        return "suspect"
    if step.step in job.state.done:
        return "done"
    if step.step in job.state.skipped:
        return "left out"
    return "open" if applies(step, job.state.decisions) else "not needed"


def _decided(job: Counted, step: Step) -> Literal["", "yes", "no"]:
    if step.decide is None or step.decide.name not in job.state.decisions:
        return ""
    return "yes" if job.state.decisions[step.decide.name] else "no"


def _departures(job: Counted) -> tuple[model.Departure, ...]:
    return tuple(
        model.Departure(
            number=job.number(departure.step),
            step=departure.step,
            what=departure.what,
            reason=departure.reason,
            by=departure.by,
            at=departure.at,
        )
        for departure in job.state.departures
    )


def _talk(job: Counted) -> model.Talk:
    def count(kind: type[E], when: Callable[[E], bool] = lambda _event: True) -> int:
        return sum(isinstance(entry.event, kind) and when(entry.event) for entry in job.entries)

    return model.Talk(
        heard=count(Heard),
        asked_again=count(Refused, lambda event: event.asked_again),
        let_pass=count(Refused, lambda event: not event.asked_again),
        taken_back=count(Undone),
        sound_kept=count(Refused, lambda event: bool(event.file)),
    )
