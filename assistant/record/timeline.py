"""The time line: what was done when, one line for each thing or for a run of like things.

What was only said (replies, questions, what was not understood) has no line of its own. A turn that
was taken back keeps its lines, marked so, and the taking back has one too.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any, Final

from assistant.job.events import (
    CautionGiven,
    CheckAnswered,
    DamageMended,
    Entry,
    Event,
    Heard,
    JobClosed,
    JobOpened,
    JobTakenUp,
    Measured,
    MeasurementAccepted,
    NoteBegun,
    NoteCorrected,
    PassReopened,
    Paused,
    PictureTaken,
    PositionMarked,
    PositionReopened,
    PositionTurned,
    PositionWorked,
    ReadingsReopened,
    ReadingTaken,
    Resumed,
    StepDone,
    StepSkipped,
    TimerEnded,
    TimerStarted,
    TimerStopped,
    Undone,
    ValueDoubted,
    WorkedOut,
)
from assistant.job.fold import UNDOABLE
from assistant.measures.readings import readable
from assistant.procedure.route import Route
from assistant.record.course import COURSE_WORDS
from assistant.record.model import Moment
from assistant.record.things import THING_WORDS
from assistant.record.words import VERDICTS, act_words, duration, left_open_words, listed, number_of, title


def undone_turns(entries: Iterable[Entry]) -> dict[int, int]:
    """Give the turns that were taken back, each with the number of the entry that took it back."""
    return {entry.event.turn: entry.seq for entry in entries if isinstance(entry.event, Undone)}


def taken_back(entry: Entry, undone: Mapping[int, int]) -> bool:
    """Whether what an entry records does not count any more.

    What the same utterance records after its own undoing ("done, undo, done") counts.
    """
    return entry.seq < undone.get(entry.turn, 0) and isinstance(entry.event, UNDOABLE)


def time_line(route: Route, entries: Sequence[Entry]) -> tuple[Moment, ...]:
    """Make the time line of a job."""
    undone = undone_turns(entries)
    told = [entry for entry in entries if type(entry.event) in WORDS or isinstance(entry.event, Undone)]
    said = {entry.turn: entry.event.words for entry in entries if isinstance(entry.event, Heard)}
    firsts = {entry.turn: entry for entry in reversed(entries) if isinstance(entry.event, UNDOABLE)}
    runs = (list(run) for _, run in groupby(told, key=lambda entry: _alike(entry, undone)))
    return tuple(_moment(route, run, said, firsts, undone) for run in runs)


def _alike(entry: Entry, undone: Mapping[int, int]) -> tuple[object, ...]:
    """Tell entries apart that are not to share a line: acts of one kind in one group do, others do not."""
    event = entry.event
    if not isinstance(event, PositionWorked):
        return (entry.seq,)
    act = event.act
    return (event.group, act.stage, act.round, str(act.value), event.in_order, taken_back(entry, undone))


def _moment(
    route: Route,
    run: Sequence[Entry],
    said: Mapping[int, str],
    firsts: Mapping[int, Entry],
    undone: Mapping[int, int],
) -> Moment:
    first, last = run[0], run[-1]
    turns = dict.fromkeys(said[entry.turn] for entry in run if entry.turn in said)
    return Moment(
        at=first.at,
        until=last.at if last.at != first.at else None,
        what=_words(route, [entry.event for entry in run], firsts),
        said=tuple(turns),
        taken_back=taken_back(first, undone),
    )


def _words(route: Route, events: Sequence[Event], firsts: Mapping[int, Entry]) -> str:
    event = events[0]
    if isinstance(event, Undone):
        first = firsts[event.turn].event
        return f"Taken back: {WORDS[type(first)](route, first)}"
    if isinstance(event, PositionWorked):
        return _worked(route, event, [other.act.position for other in _works(events)])
    return WORDS[type(event)](route, event)


def _works(events: Iterable[Event]) -> Iterator[PositionWorked]:
    return (event for event in events if isinstance(event, PositionWorked))


def _worked(route: Route, event: PositionWorked, positions: Sequence[int]) -> str:
    group, act = route.procedure.groups[event.group], event.act
    late = "" if event.in_order else ", out of order"
    where = f"position{'s' if len(positions) > 1 else ''} {listed(positions)}"
    return f"{title(group)}, stage {act.stage} of {act.stages}, {act_words(act)}: {where}{late}"


def _at(route: Route, event: Any, position: int, what: str) -> str:
    return f"{title(route.procedure.groups[event.group])}, position {position}: {what}"


def _pass_reopened(route: Route, event: PassReopened) -> str:
    what = f"positions {listed(event.positions)} to be done again" if event.positions else ""
    wrench = f"wrench {event.wrench} laid aside" if event.wrench else ""
    return f"{title(route.procedure.groups[event.group])}: {'; '.join(filter(None, (what, wrench)))}"


def _opened(_route: Route, event: JobOpened) -> str:
    way = f", on the route {event.route}" if event.route else ""
    by = f" by {event.who}" if event.who else ""
    return f"Job begun{by}: {event.procedure}, revision {event.revision}{way}"


def _caution(route: Route, event: CautionGiven) -> str:
    whose = f"Caution of step {number_of(route, event.step)}" if event.step else "Cautions of the job"
    return f"{whose} {'acknowledged' if event.acknowledged else 'read out'}"


def _done(route: Route, event: StepDone) -> str:
    return f"Step {number_of(route, event.step)} done: {route.step(event.step).say}"


def _skipped(route: Route, event: StepSkipped) -> str:
    step = route.step(event.step)
    return f"Step {number_of(route, event.step)} left out: {step.say} Reason: {event.reason}"


def question_of(route: Route, step: str) -> str:
    """Give what a step asks: the question of its gate, or the end test of its wait; "" for neither."""
    found = route.step(step)
    return found.check.ask if found.check else found.wait.test if found.wait else ""


def _answered(route: Route, event: CheckAnswered) -> str:
    return f"Asked: {question_of(route, event.step)} Answer: {'yes' if event.passed else 'no'}"


def _measured(route: Route, event: Measured) -> str:
    measure = route.step(event.step).measure
    what = measure.what if measure else event.step
    of = f" (mean of {len(event.readings)} readings)" if event.readings else ""
    return f"Measured {what}: {readable(event.value)}{of}, {VERDICTS[event.verdict]}"


def _reading(route: Route, event: ReadingTaken) -> str:
    return f"Reading taken, step {number_of(route, event.step)}: {event.value}"


def _worked_out(route: Route, event: WorkedOut) -> str:
    wanted = route.step(event.step).work_out
    what = wanted.what if wanted else event.step
    chosen = f", {event.size} taken of the sizes at hand" if event.size else ""
    come_from = listed(f"{name} {readable(value)}" for name, value in event.inputs.items())
    return f"Worked out {what}: {readable(event.value)}{chosen}, {VERDICTS[event.verdict]} (from {come_from})"


def _accepted(route: Route, event: MeasurementAccepted) -> str:
    number = number_of(route, event.step)
    return f"Measurement of step {number} accepted outside its limits. Reason: {event.reason}"


def _timer_started(route: Route, event: TimerStarted) -> str:
    return f"Wait of {duration(event.seconds)} begun, step {number_of(route, event.step)}"


def _timer_ended(route: Route, event: TimerEnded) -> str:
    return f"Wait of step {number_of(route, event.step)} is up"


def _timer_stopped(route: Route, event: TimerStopped) -> str:
    return f"Wait of step {number_of(route, event.step)} cut short with {duration(event.left_s)} left"


def _note(route: Route, event: NoteBegun) -> str:
    matter = "" if event.matter == "note" else f" ({event.matter})"
    return f"Note {event.note}{matter} spoken, at step {number_of(route, event.step)}"


def _corrected(_route: Route, event: NoteCorrected) -> str:
    by = f" by {event.who}" if event.who else ""
    return f"Text of note {event.note} corrected{by}"


def _picture(route: Route, event: PictureTaken) -> str:
    return f"Picture {event.picture} taken, at step {number_of(route, event.step)}"


def _taken_up(_route: Route, event: JobTakenUp) -> str:
    return "Job opened again" + (f" by {event.who}" if event.who else "")


def _closed(route: Route, event: JobClosed) -> str:
    if not event.open_items:
        return "Job closed"
    named = "; ".join(left_open_words(route, item) for item in event.open_items)
    return f"Job closed with open items ({named}). Reason: {event.reason}"


WORDS: Final[Mapping[type, Callable[[Route, Any], str]]] = {
    **COURSE_WORDS,
    JobOpened: _opened,
    JobTakenUp: _taken_up,
    CautionGiven: _caution,
    StepDone: _done,
    StepSkipped: _skipped,
    CheckAnswered: _answered,
    PositionWorked: lambda route, event: _worked(route, event, [event.act.position]),
    PositionTurned: lambda route, event: _at(route, event, event.act.position, "turned, not seated yet"),
    PositionReopened: lambda route, event: _at(route, event, event.position, "to be done again"),
    PassReopened: _pass_reopened,
    DamageMended: lambda route, event: _at(route, event, event.position, event.remedy),
    PositionMarked: lambda route, event: _at(route, event, event.position, f"{event.standing}, {event.why}"),
    Measured: _measured,
    MeasurementAccepted: _accepted,
    ReadingTaken: _reading,
    ReadingsReopened: lambda route, event: (
        f"{'Another reading wanted' if event.readings else 'Readings begun anew'}, step {number_of(route, event.step)}"
    ),
    WorkedOut: _worked_out,
    ValueDoubted: lambda route, event: (
        f"The value of step {number_of(route, event.step)} no longer holds,"
        f" since step {number_of(route, event.because)} was measured again"
    ),
    **THING_WORDS,
    TimerStarted: _timer_started,
    TimerEnded: _timer_ended,
    TimerStopped: _timer_stopped,
    NoteBegun: _note,
    NoteCorrected: _corrected,
    PictureTaken: _picture,
    Paused: lambda _route, _event: "Work paused",
    Resumed: lambda _route, _event: "Work resumed",
    JobClosed: _closed,
}
"""The words for each kind of event that has a line; the others were only said."""
