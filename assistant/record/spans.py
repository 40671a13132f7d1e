"""Where the time of a job went: at which step the reading stood when, the pauses, and when nobody was there."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from assistant.job.events import Entry, JobClosed, JobTakenUp, Paused, Resumed, StepReached
from assistant.procedure.route import Route
from assistant.record.model import Span
from assistant.record.words import number_of

AWAY_S: Final = 15 * 60
"""A gap this long without a word is not work, whether or not anyone said "pause"."""


def spans(route: Route, entries: Sequence[Entry]) -> tuple[Span, ...]:
    """Give the stretches of time of a job, in order, without gaps while somebody works."""
    return tuple(_joined(span for span in _spans(route, entries) if span.ended > span.began))


def _joined(found: Iterator[Span]) -> Iterator[Span]:
    """Join stretches of the same kind that follow one another."""
    last: Span | None = None
    for span in found:
        if last and (last.what, last.number, last.ended) == (span.what, span.number, span.began):
            last = last.model_copy(update={"ended": span.ended})
            continue
        if last:
            yield last
        last = span
    if last:
        yield last


def _spans(route: Route, entries: Sequence[Entry]) -> Iterator[Span]:
    step, paused, since = route.steps[0].step, False, entries[0].at
    for entry in entries:
        event = entry.event
        if entry.at - since > timedelta(seconds=AWAY_S) or isinstance(event, JobTakenUp):
            yield _span(route, "" if paused else "away", step, since, entry.at)
            since = entry.at
        if isinstance(event, JobClosed):
            yield _span(route, step if not paused else "", step, since, entry.at)
            return
        yield _span(route, "" if paused else step, step, since, entry.at)
        since = entry.at
        if isinstance(event, StepReached):
            step = event.step
        elif isinstance(event, Paused | Resumed):
            paused = isinstance(event, Paused)


def _span(route: Route, what: str, step: str, began: datetime, ended: datetime) -> Span:
    """Make a stretch at a step; of a pause where `what` is empty, or of absence."""
    if what in {"", "away"}:
        return Span(what="away" if what else "paused", number=0, began=began, ended=ended)
    return Span(what="step", number=number_of(route, step), began=began, ended=ended)
