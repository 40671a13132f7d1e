"""The words of the time line for the course of a job: decisions, going back, what was done before its turn."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from assistant.job.events import (
    CloseOutPassed,
    DecisionTaken,
    GroupLoosened,
    HelperCalled,
    OpenAccepted,
    RevisionAnswered,
    StepReopened,
    SuspectCleared,
    WorkedBefore,
)
from assistant.procedure.route import Route
from assistant.record.words import left_open_words, listed, number_of, title


def _decided(route: Route, event: DecisionTaken) -> str:
    step = route.step(event.step)
    asked = step.decide.ask if step.decide else event.decision
    return f"Decided: {asked} Answer: {'yes' if event.yes else 'no'}"


def _reopened(route: Route, event: StepReopened) -> str:
    suspect = listed(number_of(route, name) for name in event.suspect)
    resting = f"; suspect: steps {suspect}" if event.suspect else ""
    return f"Step {number_of(route, event.step)} to be done again{resting}"


def _before(route: Route, event: WorkedBefore) -> str:
    missing = number_of(route, event.missing)
    return f"Step {number_of(route, event.step)} worked before step {missing}. Reason: {event.reason}"


def _revision(_route: Route, event: RevisionAnswered) -> str:
    return f"Revision {event.revision} of the procedure {'taken' if event.taken else 'not taken'}"


def _helper(route: Route, event: HelperCalled) -> str:
    return f"Helper {'called' if event.going else 'stopped'} at step {number_of(route, event.step)}"


COURSE_WORDS: Final[Mapping[type, Callable[[Route, Any], str]]] = {
    DecisionTaken: _decided,
    StepReopened: _reopened,
    SuspectCleared: lambda route, event: f"Step {number_of(route, event.step)} found still good",
    WorkedBefore: _before,
    GroupLoosened: lambda route, event: f"{title(route.procedure.groups[event.group])} loosened",
    HelperCalled: _helper,
    RevisionAnswered: _revision,
    OpenAccepted: lambda route, event: (
        f"Accepted as it is: {left_open_words(route, event.item)}. Reason: {event.reason}"
    ),
    CloseOutPassed: lambda _route, _event: "Close-out passed; the first start begins",
}
"""What each kind of event is called."""
