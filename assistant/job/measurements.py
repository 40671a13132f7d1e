"""The fold of what is measured and worked out; `job.fold` takes these tables in.

`readings` of the state are series that are not complete yet, `last_value` the step of the value that was
kept last.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from assistant.job.events import (
    Measured,
    MeasurementAccepted,
    ReadingsReopened,
    ReadingTaken,
    ValueDoubted,
    WorkedOut,
)
from assistant.job.state import Departure, JobState

LATER: Final = "do it later"
"""The reason that puts a value off and does not settle it, in the words of the grammar."""


def _measured(state: JobState, event: Measured, _at: datetime) -> JobState:
    return replace(
        state,
        measured={**state.measured, event.step: event},
        readings={step: series for step, series in state.readings.items() if step != event.step},
        accepted=state.accepted - {event.step},
        last_value=event.step,
    )


def _accepted(state: JobState, event: MeasurementAccepted, at: datetime) -> JobState:
    later = event.reason == LATER
    departure = Departure(
        step=event.step,
        what="put off outside its limits" if later else "accepted outside its limits",
        reason=event.reason,
        at=at,
        by=state.who,
    )
    accepted = state.accepted if later else state.accepted | {event.step}
    return replace(state, accepted=accepted, departures=(*state.departures, departure))


def _reading(state: JobState, event: ReadingTaken, _at: datetime) -> JobState:
    series = (*state.readings.get(event.step, ()), event.value)
    return replace(state, readings={**state.readings, event.step: series})


def _reopened(state: JobState, event: ReadingsReopened, _at: datetime) -> JobState:
    return replace(state, readings={**state.readings, event.step: event.readings})


def _worked(state: JobState, event: WorkedOut, _at: datetime) -> JobState:
    return replace(
        state,
        worked={**state.worked, event.step: event},
        accepted=state.accepted - {event.step},
        last_value=event.step,
    )


def _doubted(state: JobState, event: ValueDoubted, _at: datetime) -> JobState:
    suspect = {step: because for step, because in state.suspect.items() if step != event.step}
    return replace(state, done=state.done.minus(event.step), suspect=suspect)


VALUE_FOLDS: Final[Mapping[type, Callable[[JobState, Any, datetime], JobState]]] = {
    Measured: _measured,
    MeasurementAccepted: _accepted,
    ReadingTaken: _reading,
    ReadingsReopened: _reopened,
    WorkedOut: _worked,
    ValueDoubted: _doubted,
}
"""What each of these events does to the state."""

VALUE_EVENTS: Final = tuple(VALUE_FOLDS)
"""All of them are taken back by `undo`."""
