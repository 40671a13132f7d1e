"""The fold: from a state and one more event to the next state, and nothing else.

`fold(state, entry)` looks the event's kind up in one table, FOLDS; no state is changed in place.
Every turn that recorded something on the machine can be taken back: the state keeps the last few
states before it (`pasts`), each without pasts of its own.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from assistant.job.course import COURSE_FOLDS
from assistant.job.events import (
    Asked,
    CalibrationTold,
    CautionGiven,
    CheckAnswered,
    CloseOutPassed,
    DamageMended,
    DecisionTaken,
    Entry,
    Event,
    GroupLoosened,
    Heard,
    JobClosed,
    JobOpened,
    JobTakenUp,
    OpenAccepted,
    PassReopened,
    Paused,
    PositionMarked,
    PositionReopened,
    PositionTurned,
    PositionWorked,
    QuestionClosed,
    Refused,
    Replied,
    Resumed,
    RevisionAnswered,
    StepDone,
    StepReopened,
    StepSkipped,
    SuspectCleared,
    TimerEnded,
    TimerStarted,
    TimerStopped,
    TorqueTold,
    Undone,
    VoiceSet,
    WorkedBefore,
)
from assistant.job.measurements import VALUE_EVENTS, VALUE_FOLDS
from assistant.job.noted import NOTED
from assistant.job.positions import POSITION_FOLDS
from assistant.job.state import Departure, JobState, Past, Question, Timer
from assistant.job.things import THING_EVENTS, THING_FOLDS

KEPT_PASTS: Final = 30
"""How many turns back `undo` reaches."""


def fold(state: JobState, entry: Entry) -> JobState:
    """Give the state after one more event. Pure; the same entries always give the same state."""
    event = entry.event
    base = _remember(state, entry) if isinstance(event, UNDOABLE) else state
    begun = replace(base, turn=entry.turn) if entry.turn > base.turn else base
    folded = FOLDS[type(event)](begun, event, entry.at)
    return replace(folded, seq=entry.seq, last_at=entry.at)


def replay(entries: Iterable[Entry]) -> JobState:
    """Fold all entries of a job, from the first."""
    state = JobState()
    for entry in entries:
        state = fold(state, entry)
    return state


UNDOABLE: Final = (
    StepDone,
    StepSkipped,
    StepReopened,
    SuspectCleared,
    DecisionTaken,
    WorkedBefore,
    CheckAnswered,
    GroupLoosened,
    OpenAccepted,
    CloseOutPassed,
    PositionWorked,
    PositionTurned,
    PositionReopened,
    PassReopened,
    PositionMarked,
    DamageMended,
    *VALUE_EVENTS,
    *THING_EVENTS,
    TimerStarted,
    TimerStopped,
)
"""What `undo` takes back; the rest either changes nothing on the machine or stands by itself."""


def _remember(state: JobState, entry: Entry) -> JobState:
    """Keep the state as it was before the turn that this event begins, or add the event to its turn."""
    if state.pasts and state.pasts[-1].turn == entry.turn:
        last = replace(state.pasts[-1], events=(*state.pasts[-1].events, entry.event))
        return replace(state, pasts=(*state.pasts[:-1], last))
    past = Past(turn=entry.turn, state=replace(state, pasts=()), events=(entry.event,))
    return replace(state, pasts=(*state.pasts, past)[-KEPT_PASTS:])


Fold = Callable[[JobState, Any, datetime], JobState]


def _opened(state: JobState, event: JobOpened, at: datetime) -> JobState:
    progress = replace(state.progress, since=at)
    return replace(
        state,
        job=event.job,
        machine=event.machine,
        route=event.route,
        who=event.who,
        began=at,
        progress=progress,
    )


def _taken_up(state: JobState, event: JobTakenUp, at: datetime) -> JobState:
    progress = replace(state.progress, since=at)
    return replace(state, who=event.who, listing=None, misses=0, let_be=0, torque_told="", progress=progress)


def _back(state: JobState, _event: Resumed, at: datetime) -> JobState:
    return replace(state, paused=False, progress=replace(state.progress, since=at))


def _paused(state: JobState, _event: Paused, _at: datetime) -> JobState:
    return replace(state, paused=True, progress=replace(state.progress, since=None))


def _revision(state: JobState, event: RevisionAnswered, _at: datetime) -> JobState:
    """Remember that it was answered; nothing from before a text that was taken can be taken back."""
    pasts = () if event.taken else state.pasts
    return replace(state, revision_answered=event.revision, pasts=pasts)


def _same(state: JobState, _event: Event, _at: datetime) -> JobState:
    return state


def _heard(state: JobState, event: Heard, _at: datetime) -> JobState:
    """End the misses; only "in foot pounds" is still about the torque that was told before it."""
    told = state.torque_told if event.intents == ("in-unit",) else ""
    return replace(state, misses=0, let_be=0, torque_told=told)


def _refused(state: JobState, event: Refused, _at: datetime) -> JobState:
    is_waited_for = state.question is not None and not state.paused
    talk = is_waited_for and event.words != "" and not event.asked_again
    return replace(
        state,
        misses=state.misses + event.asked_again,
        let_be=state.let_be + talk,
        refused=state.refused + 1,
    )


def _replied(state: JobState, event: Replied, _at: datetime) -> JobState:
    return state if event.passing else replace(state, last_reply=event.words)


def _caution(state: JobState, event: CautionGiven, _at: datetime) -> JobState:
    if not event.acknowledged:
        return state
    return replace(state, cautions_acknowledged=state.cautions_acknowledged | {event.step})


def _calibration(state: JobState, event: CalibrationTold, _at: datetime) -> JobState:
    return replace(state, calibrations_told=state.calibrations_told | {event.wrench})


def _torque_told(state: JobState, event: TorqueTold, _at: datetime) -> JobState:
    return replace(state, torque_told=event.group)


def _timer_started(state: JobState, event: TimerStarted, at: datetime) -> JobState:
    return replace(state, timers={**state.timers, event.step: Timer(began=at, seconds=event.seconds)})


def _timer_ended(state: JobState, event: TimerEnded, _at: datetime) -> JobState:
    timer = replace(state.timers[event.step], told=True)
    return replace(state, timers={**state.timers, event.step: timer})


def _timer_stopped(state: JobState, event: TimerStopped, at: datetime) -> JobState:
    timer = replace(state.timers[event.step], cut_short_s=event.left_s)
    reason = event.reason or "stopped by voice"
    departure = Departure(step=event.step, what="wait cut short", reason=reason, at=at, by=state.who)
    return replace(
        state, timers={**state.timers, event.step: timer}, departures=(*state.departures, departure)
    )


def _asked(state: JobState, event: Asked, _at: datetime) -> JobState:
    """Remember the turn that a question came of: this one, where no earlier one is named."""
    turn = state.turn if event.came_of is None else event.came_of
    return replace(state, question=Question(name=event.question, about=event.about, turn=turn), let_be=0)


def _question_closed(state: JobState, _event: QuestionClosed, _at: datetime) -> JobState:
    return replace(state, question=None)


def _undone(state: JobState, event: Undone, _at: datetime) -> JobState:
    """Go back to before the turn, but keep what was only said: replies, misses, notes, the voice."""
    past = state.pasts[-1]
    assert past.turn == event.turn, "undo takes back the last turn only"  # noqa: S101
    return replace(
        past.state,
        turn=state.turn,
        last_reply=state.last_reply,
        misses=state.misses,
        let_be=state.let_be,
        refused=state.refused,
        who=state.who,
        helping=state.helping,
        revision_answered=state.revision_answered,
        notes=state.notes,
        pictures=state.pictures,
        listing=None,
        timers={step: _as_told(timer, state.timers.get(step)) for step, timer in past.state.timers.items()},
        loudness=state.loudness,
        pace=state.pace,
        question=None,
        pasts=state.pasts[:-1],
    )


def _as_told(past: Timer, now: Timer | None) -> Timer:
    """Give a timer as it was, but told of where it has been since: nobody is told twice."""
    return replace(past, told=True) if now and now.told and now.began == past.began else past


def _voice(state: JobState, event: VoiceSet, _at: datetime) -> JobState:
    return replace(state, loudness=event.loudness, pace=event.pace)


def _closed(state: JobState, _event: JobClosed, _at: datetime) -> JobState:
    return replace(state, closed=True)


FOLDS: Final[Mapping[type, Fold]] = {
    JobOpened: _opened,
    JobTakenUp: _taken_up,
    Heard: _heard,
    Refused: _refused,
    Replied: _replied,
    CautionGiven: _caution,
    **COURSE_FOLDS,
    **POSITION_FOLDS,
    CalibrationTold: _calibration,
    TorqueTold: _torque_told,
    **VALUE_FOLDS,
    **THING_FOLDS,
    TimerStarted: _timer_started,
    TimerEnded: _timer_ended,
    TimerStopped: _timer_stopped,
    Asked: _asked,
    QuestionClosed: _question_closed,
    Paused: _paused,
    Resumed: _back,
    RevisionAnswered: _revision,
    Undone: _undone,
    VoiceSet: _voice,
    **NOTED,
    JobClosed: _closed,
}
"""What each kind of event does to the state."""
