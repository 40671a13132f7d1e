"""What events do to the course of a job through its steps: one part of the fold."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from assistant.job.events import (
    CheckAnswered,
    CloseOutPassed,
    DecisionTaken,
    HelperCalled,
    OpenAccepted,
    StepDone,
    StepReached,
    StepReopened,
    StepSkipped,
    SuspectCleared,
    WorkedBefore,
)
from assistant.job.state import Departure, JobState, Progress
from assistant.job.things import of_reopened

LONGEST_STEP_S: Final = 1800.0
"""What a step took counts for the pace up to so many seconds; the rest was something else."""


def _without(names: Mapping[str, Any], step: str) -> dict[str, Any]:
    return {name: value for name, value in names.items() if name != step}


def _reached(state: JobState, event: StepReached, _at: datetime) -> JobState:
    return replace(state, at=event.step)


def _done(state: JobState, event: StepDone, at: datetime) -> JobState:
    return replace(
        state,
        done=state.done.plus(event.step),
        skipped=_without(state.skipped, event.step),
        suspect=_without(state.suspect, event.step),
        progress=_timed(state, event.step, at),
    )


def _timed(state: JobState, step: str, at: datetime) -> Progress:
    """Count the time of a step that was done; a wait has its own."""
    progress = state.progress
    if progress.since is None or step in state.timers:
        return replace(progress, since=at)
    took = min((at - progress.since).total_seconds(), LONGEST_STEP_S)
    return Progress(seconds=progress.seconds + took, steps=progress.steps + 1, since=at)


def _skipped(state: JobState, event: StepSkipped, at: datetime) -> JobState:
    departure = Departure(step=event.step, what="left out", reason=event.reason, at=at, by=state.who)
    return replace(
        state,
        done=state.done.minus(event.step),
        skipped={**state.skipped, event.step: event.reason},
        suspect=_without(state.suspect, event.step),
        departures=(*state.departures, departure),
    )


def _check(state: JobState, event: CheckAnswered, _at: datetime) -> JobState:
    seen = {**state.seen_by, event.step: event.by} if event.by else state.seen_by
    return replace(state, checks={**state.checks, event.step: event.passed}, seen_by=seen)


def _decided(state: JobState, event: DecisionTaken, _at: datetime) -> JobState:
    return replace(state, decisions={**state.decisions, event.decision: event.yes})


def _reopened(state: JobState, event: StepReopened, _at: datetime) -> JobState:
    return replace(
        state,
        done=state.done.minus(event.step),
        skipped=_without(state.skipped, event.step),
        checks=_without(state.checks, event.step),
        measured=_without(state.measured, event.step),
        timers=_without(state.timers, event.step),
        accepted=state.accepted - {event.step},
        suspect={**_without(state.suspect, event.step), **dict.fromkeys(event.suspect, event.step)},
        **of_reopened(state, event.step),
    )


def _cleared(state: JobState, event: SuspectCleared, _at: datetime) -> JobState:
    return replace(state, suspect=_without(state.suspect, event.step))


def _before(state: JobState, event: WorkedBefore, at: datetime) -> JobState:
    what = f"worked before {event.missing}"
    departure = Departure(step=event.step, what=what, reason=event.reason, at=at, by=state.who)
    return replace(
        state,
        worked_before=state.worked_before | {event.step},
        departures=(*state.departures, departure),
    )


def _helper(state: JobState, event: HelperCalled, _at: datetime) -> JobState:
    return replace(state, helping=event.step if event.going else "")


def _accepted(state: JobState, event: OpenAccepted, _at: datetime) -> JobState:
    return replace(state, accepted_open={**state.accepted_open, event.item: event.reason})


def _closing(state: JobState, _event: CloseOutPassed, _at: datetime) -> JobState:
    return replace(state, closing=True)


COURSE_FOLDS: Final[Mapping[type, Callable[[JobState, Any, datetime], JobState]]] = {
    StepReached: _reached,
    StepDone: _done,
    StepSkipped: _skipped,
    CheckAnswered: _check,
    DecisionTaken: _decided,
    StepReopened: _reopened,
    SuspectCleared: _cleared,
    WorkedBefore: _before,
    HelperCalled: _helper,
    OpenAccepted: _accepted,
    CloseOutPassed: _closing,
}
"""What each kind of event on the way does to the state."""
