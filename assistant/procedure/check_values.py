"""An author's mistakes about values: names that are not there or come later, and units that do not fit."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from assistant.errors import TorqueError
from assistant.measures.amounts import Amount, Kind, kind_of
from assistant.measures.formula import Formula
from assistant.procedure.finding import Finding, Path
from assistant.procedure.model import Procedure, Step
from assistant.procedure.values import Measure, WorkOut, needs_of
from assistant.torque.units import read_quantity


@dataclass(frozen=True)
class _Names:
    """The kinds of the values of the steps before, by name; and by every name, the step that gives it."""

    known: dict[str, Amount]
    later: Mapping[str, str]


def value_findings(procedure: Procedure) -> Iterator[Finding]:
    """Find the mistakes in what is measured and worked out, in the order of the file."""
    later = {value.name: step.step for step in procedure.steps if (value := step.value) and value.name}
    names = _Names({}, later)
    for number, step in enumerate(procedure.steps):
        value = step.value
        if value is None:
            continue
        path: Path = ("steps", number, "measure" if isinstance(value, Measure) else "work_out")
        yield from _formulas(step, value, path, names)
        if value.name in names.known:
            yield Finding(path=(*path, "name"), what=f"two values are named {value.name!r}", do="rename one")
        if value.name:
            names.known[value.name] = Amount(None, _kind(value.unit))
    yield from _routes(procedure)


def _kind(unit: str) -> Kind:
    """Give the kind of a unit; a temperature is of a kind that fits nothing."""
    try:
        return kind_of(read_quantity(f"1 {unit}").dimension)
    except TorqueError:
        return (("temperature", 1),)


def _formulas(step: Step, value: Measure | WorkOut, path: Path, names: _Names) -> Iterator[Finding]:
    for key, formula in value.formulas.items():
        yield from _formula(step, formula, (*path, key), value.unit, names)
    if isinstance(value, WorkOut) and value.leaves:
        here = _Names({**names.known, value.name: Amount(None, _kind(value.unit))}, names.later)
        for key, formula in value.leaves.formulas.items():
            yield from _formula(step, formula, (*path, "leaves", key), value.leaves.unit, here)


def _formula(step: Step, formula: Formula, path: Path, unit: str, names: _Names) -> Iterator[Finding]:
    """Find a name that is not there yet; else work the formula out with kinds alone."""
    if missing := [name for name in formula.names if name not in names.known]:
        yield _missing(step, missing[0], path, names)
        return
    try:
        found = formula.amount(names.known)
    except TorqueError as error:
        yield Finding(path=path, what=f"step {step.step}: in {formula}, {error.what}", do="check its units")
        return
    if found.kind != _kind(unit):
        yield Finding(
            path=path,
            what=f"step {step.step}: {formula} is a {found.called}, and {unit} is not a unit of that",
            do="check the formula, or write another unit",
        )


def _missing(step: Step, name: str, path: Path, names: _Names) -> Finding:
    if names.later.get(name) == step.step:
        what = f"step {step.step} uses {name!r}, which it gives itself"
        return Finding(path=path, what=what, do="take the value of an earlier step")
    if name in names.later:
        what = f"step {step.step} uses {name!r}, which is known only after step {names.later[name]}"
        return Finding(path=path, what=what, do=f"put it after step {names.later[name]}")
    do = f"use {', '.join(names.known)}" if names.known else "give the measurement that is meant a name:"
    return Finding(path=path, what=f"step {step.step} uses {name!r}, which no step measures", do=do)


def _routes(procedure: Procedure) -> Iterator[Finding]:
    """Find a route that uses a value and leaves out the step that gives it."""
    values = {step.step: value for step in procedure.steps if (value := step.value)}
    giver = {value.name: step for step, value in values.items() if value.name}
    for route, names in procedure.routes.items():
        for place, step in enumerate(names):
            needed = needs_of(values[step]) if step in values else ()
            for name in needed:
                if name in giver and giver[name] not in names:
                    what = f"the route {route} uses {name!r} in step {step} and leaves out step {giver[name]}"
                    yield Finding(path=("routes", route, place), what=what, do=f"add {giver[name]} to it")
