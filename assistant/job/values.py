"""What is known of values in a job: by name, from which others, and whether they still hold. Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from assistant.job.events import Measured, WorkedOut
from assistant.job.state import JobState
from assistant.measures.conformity import GOOD, Limits, Verdict, judge
from assistant.measures.formula import Formula
from assistant.procedure.route import Route
from assistant.procedure.values import Leaves, Measure, WorkOut, needs_of
from assistant.torque.units import Quantity

_RANK: Final[Mapping[Verdict, int]] = {"in": 0, "no limits": 0, "in doubt": 1, "below": 2, "above": 2}


@dataclass(frozen=True)
class Inputs:
    """The values that something is worked out from, by name, and their uncertainties where they have one."""

    values: Mapping[str, Quantity]
    doubts: Mapping[str, Quantity]

    def with_size(self, name: str, size: Quantity) -> "Inputs":
        """Add a size, which is taken as it is marked."""
        return Inputs({**self.values, name: size}, self.doubts)


def kept(state: JobState, step: str) -> Measured | WorkedOut | None:
    """Give what was last kept at a step: a measurement, or a value worked out."""
    return state.measured.get(step) or state.worked.get(step)


def missing(route: Route, state: JobState, value: Measure | WorkOut) -> tuple[str, ...]:
    """Name the values that are needed for one and not there yet, or no longer hold."""
    gone = stale(route, state)
    return tuple(
        name
        for name in needs_of(value)
        if (step := route.givers.get(name)) is None or kept(state, step) is None or step in gone
    )


def measured_under(route: Route, value: Measure | WorkOut) -> tuple[str, ...]:
    """Name the measuring steps that a value comes from in the end, each once."""
    found: dict[str, None] = {}
    for name in needs_of(value):
        step = route.givers.get(name, "")
        worked = route.step(step).work_out if step else None
        found |= dict.fromkeys(measured_under(route, worked) if worked else (step,) if step else ())
    return tuple(found)


def inputs_of(route: Route, state: JobState, value: Measure | WorkOut) -> Inputs:
    """Give what a value is worked out from; none may be missing."""
    values: dict[str, Quantity] = {}
    doubts: dict[str, Quantity] = {}
    for name in needs_of(value):
        found = kept(state, route.givers[name])
        assert found is not None, f"{name} is missing"  # noqa: S101
        values[name] = found.stands_for
        if doubt := _doubt_of(route, state, route.givers[name]):
            doubts[name] = doubt
    return Inputs(values, doubts)


def _doubt_of(route: Route, state: JobState, step: str) -> Quantity | None:
    """Give the uncertainty of a value itself: its gauge's, or what those of its inputs make together."""
    wanted = route.step(step)
    if wanted.measure:
        return wanted.measure.gauge
    if wanted.work_out is None or wanted.work_out.sizes:
        return None
    inputs = inputs_of(route, state, wanted.work_out)
    return wanted.work_out.value.doubt(inputs.values, inputs.doubts, wanted.work_out.unit)


def limits_of(wanted: Measure | WorkOut | Leaves, inputs: Inputs, doubt: Quantity | None) -> Limits:
    """Give the limits as they are now. Raises TorqueError where a formula divides by nothing.

    Where a limit is worked out, its own uncertainty is added to that of the value, straight: the two may
    come from the same readings.
    """
    formulas = [limit for limit in (wanted.least, wanted.most) if isinstance(limit, Formula)]
    theirs = (formula.doubt(inputs.values, inputs.doubts, wanted.unit) for formula in formulas)
    own = [each for each in (doubt, *theirs) if each is not None]
    return Limits(
        least=_limit(wanted.least, inputs, wanted.unit),
        most=_limit(wanted.most, inputs, wanted.unit),
        doubt=_sum(own, wanted.unit),
    )


def _limit(limit: Quantity | Formula | None, inputs: Inputs, unit: str) -> Quantity | None:
    return limit.value(inputs.values, unit) if isinstance(limit, Formula) else limit


def _sum(doubts: list[Quantity], unit: str) -> Quantity | None:
    if len(doubts) < 2:  # noqa: PLR2004  (one stays as it was written)
        return doubts[0] if doubts else None
    return Quantity(value=sum(doubt.to(unit).value for doubt in doubts), unit=unit)


def work_out(route: Route, state: JobState, step: str) -> WorkedOut:
    """Work a value out from what is known now; nothing may be missing.

    Raises TorqueError where a formula divides by nothing.
    """
    wanted = route.step(step).work_out
    assert wanted is not None, f"{step} works nothing out"  # noqa: S101
    inputs = inputs_of(route, state, wanted)
    value = wanted.value.value(inputs.values, wanted.unit)
    if wanted.leaves is None:
        doubt = wanted.value.doubt(inputs.values, inputs.doubts, wanted.unit)
        limits = limits_of(wanted, inputs, doubt)
        return _event(step, value, inputs, limits, judge(value, limits))
    return min(_sizes(step, wanted, wanted.leaves, inputs, value), key=lambda found: _suits(found, value))


def _sizes(
    step: str, wanted: WorkOut, leaves: Leaves, inputs: Inputs, value: Quantity
) -> Iterator[WorkedOut]:
    """Give what each size at hand would come to."""
    for size in wanted.sizes:
        there = inputs.with_size(wanted.name, size)
        left = leaves.value.value(there.values, leaves.unit)
        limits = limits_of(leaves, there, leaves.value.doubt(there.values, there.doubts, leaves.unit))
        found = _event(step, value, inputs, limits, judge(left, limits))
        yield found.model_copy(update={"size": size, "leaves": left})


def _suits(found: WorkedOut, value: Quantity) -> tuple[int, object, object]:
    """Put first what leaves a good value, then what is nearest to the size asked for, then the thinner."""
    size = (found.size or value).exact(value.unit)
    return _RANK[found.verdict], abs(size - value.exact(value.unit)), size


def _event(step: str, value: Quantity, inputs: Inputs, limits: Limits, verdict: Verdict) -> WorkedOut:
    return WorkedOut(
        step=step,
        value=value,
        verdict=verdict,
        inputs=dict(inputs.values),
        least=limits.least,
        most=limits.most,
        doubt=limits.doubt,
    )


def stale(route: Route, state: JobState) -> tuple[str, ...]:
    """Name the steps whose value came from values that have changed since, or are not there any more."""
    gone: list[str] = []
    for step in route.valued:
        found = kept(state, step)
        if found is not None and any(_changed(route, state, gone, *each) for each in found.inputs.items()):
            gone.append(step)
    return tuple(gone)


def _changed(route: Route, state: JobState, gone: list[str], name: str, value: Quantity) -> bool:
    step = route.givers.get(name)
    now = kept(state, step) if step else None
    return now is None or step in gone or now.stands_for != value


def is_outside(state: JobState, step: str) -> bool:
    """Tell whether the value kept at a step is outside its limits, or in doubt, and nobody let it stand."""
    found = kept(state, step)
    return found is not None and found.verdict not in GOOD and step not in state.accepted


def is_unsettled(route: Route, state: JobState, step: str) -> bool:
    """Tell whether a step's value is open: outside its limits and not accepted, changed under, or read anew."""
    if kept(state, step) is None:
        return False
    return is_outside(state, step) or step in state.readings or step in stale(route, state)


def cause(route: Route, state: JobState, step: str) -> str:
    """Name the first value that has changed under a stale one; "" where none has."""
    found, gone = kept(state, step), list(stale(route, state))
    inputs = found.inputs if found else {}
    return next((name for name, value in inputs.items() if _changed(route, state, gone, name, value)), "")
