"""A procedure as one HTML page with its figures, for reading before the work; it needs nothing from outside."""

import base64
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from pydantic import BaseModel

from assistant.procedure.model import Adapter, Caution, Check, Helper, Procedure, Step, Tighten, Wait
from assistant.procedure.things import Supply
from assistant.procedure.values import Measure, WorkOut
from assistant.record.words import stage_words, title
from assistant.torque.draw import draw
from assistant.torque.group import FastenerGroup
from assistant.torque.units import Quantity

Fact = tuple[str, str]
"""What is said of a step, with what it is about before it."""

_BEFORE: Final = ("step", "say", "caution")
"""What stands in a step's head, not among its facts."""


def page(procedure: Procedure) -> str:
    """Write a procedure as HTML. Pure: the same procedure gives the same text."""
    return (
        _environment()
        .get_template("procedure.html")
        .render(
            procedure=procedure,
            groups=[
                (group, title(group), _figure(group), group_facts(group))
                for group in procedure.groups.values()
            ],
            things=[(name, _counted(part.count), _extras(part)) for name, part in procedure.parts.items()],
            steps=[(step, tuple(step_facts(procedure, step))) for step in procedure.steps],
            numbers={step.step: number for number, step in enumerate(procedure.steps, start=1)},
        )
    )


def group_facts(group: FastenerGroup) -> tuple[Fact, ...]:
    """Say what a group is: its fasteners, their order, its stages in their order."""
    order = ", ".join(map(str, group.sequence())) if group.order_matters() else "any"
    what = (
        group.thread,
        group.property_class,
        group.condition,
        "left-hand thread" if group.left_hand else "",
    )
    stages = ((f"Stage {number}", stage_words(stage)) for number, stage in enumerate(group.stages, start=1))
    heat = (("Again", "after the first heat"),) if group.retorque_after_heat else ()
    fasteners = ", ".join(filter(None, (f"{group.count}", *what)))
    return ("Fasteners", fasteners), ("Order", order), *stages, *heat


def step_facts(procedure: Procedure, step: Step) -> Iterator[Fact]:
    """Say everything that is written of a step but its words and its caution, in the order of the model's keys."""
    for key in type(step).model_fields:
        value = getattr(step, key)
        if key not in _BEFORE and value not in (None, "", ()):
            yield from _FACTS.get(key, _plain)(procedure, key, value)
    if step.rests_on == ():
        yield "Rests on", "no step before it"


def _plain(_procedure: Procedure, key: str, value: Any) -> Iterator[Fact]:
    """Say what has no words of its own here, by its key."""
    yield key.replace("_", " ").capitalize(), _text(value)


def _text(value: Any) -> str:
    if isinstance(value, BaseModel) and not isinstance(value, Quantity):
        written = value.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        return "; ".join(f"{key.replace('_', ' ')} {_text(each)}" for key, each in written.items())
    if isinstance(value, Mapping):
        return "; ".join(f"{key} {_text(each)}" for key, each in value.items())
    return ", ".join(map(_text, value)) if isinstance(value, list | tuple) else str(value)


def _tighten(procedure: Procedure, _key: str, value: Tighten) -> Iterator[Fact]:
    group = procedure.groups[value.group]
    numbers = value.stages or range(1, len(group.stages) + 1)
    stages = (f"{number}. {stage_words(group.stages[number - 1])}" for number in numbers)
    yield "Tighten", f"{group.spoken}: {'the final torque again' if value.after_heat else ', '.join(stages)}"
    if value.adapter:
        yield "Adapter", _adapter(value.adapter)


def _adapter(adapter: Adapter) -> str:
    return ", ".join((f"{adapter.length}, at {adapter.angle} to the handle", *adapter.fittings))


def _measure(_procedure: Procedure, key: str, value: Measure | WorkOut) -> Iterator[Fact]:
    written = value.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    bounds = _bounds(value)
    rest = {each: text for each, text in written.items() if each not in {"what", "name", "least", "most"}}
    more = "; ".join(f"{each.replace('_', ' ')} {_text(text)}" for each, text in rest.items())
    yield "Measure" if key == "measure" else "Work out", ", ".join(filter(None, (value.what, bounds, more)))


def _bounds(value: Measure | WorkOut) -> str:
    """Say the limits, formulas as they are written."""
    least, most = value.least, value.most
    if least is not None and most is not None:
        return f"{least} to {most}"
    return f"at most {most}" if most is not None else f"at least {least}" if least is not None else ""


def _wait(_procedure: Procedure, _key: str, value: Wait) -> Iterator[Fact]:
    yield "Wait", f"at least {value.least}, and until this is so: {value.test}"


def _check(_procedure: Procedure, _key: str, value: Check) -> Iterator[Fact]:
    seen = " A second person must have seen it." if value.hold else ""
    yield "Gate", f"{value.ask}{seen}"
    yield "If not", value.if_not


def _decide(_procedure: Procedure, _key: str, value: Any) -> Iterator[Fact]:
    yield "Decide", f"{value.ask} ({value.name})"


def _helper(_procedure: Procedure, _key: str, value: Helper) -> Iterator[Fact]:
    yield "Helper", f"{value.who}: {value.say}"


def _things(_procedure: Procedure, key: str, value: Sequence[str]) -> Iterator[Fact]:
    counted = (f"{_counted(value.count(name))}{name}" for name in dict.fromkeys(value))
    yield key.replace("_", " ").capitalize(), ", ".join(counted)


def _apply(_procedure: Procedure, _key: str, value: Sequence[Supply]) -> Iterator[Fact]:
    for supply in value:
        yield "Apply", ", ".join(filter(None, (supply.what, supply.where, supply.how_much)))


def _rests_on(procedure: Procedure, _key: str, value: Sequence[str]) -> Iterator[Fact]:
    places = {step.step: number for number, step in enumerate(procedure.steps, start=1)}
    yield "Rests on", ", ".join(f"step {places[name]}" for name in value)


def _when(_procedure: Procedure, _key: str, value: Sequence[str]) -> Iterator[Fact]:
    yield "Only if", " and ".join(value)


_FACTS: Final[Mapping[str, Callable[[Procedure, str, Any], Iterator[Fact]]]] = {
    "tighten": _tighten,
    "measure": _measure,
    "work_out": _measure,
    "wait": _wait,
    "check": _check,
    "decide": _decide,
    "helper": _helper,
    "apply": _apply,
    "when": _when,
    "rests_on": _rests_on,
    **dict.fromkeys(("use", "put_in", "take_out", "take_off", "put_back"), _things),
}


def _counted(count: int) -> str:
    return f"{count} × " if count > 1 else ""  # noqa: RUF001


def _extras(part: Any) -> str:
    """Say what a part wants: used once, back to its own place, what is asked of it, what goes on it."""
    once = "used once" if part.use_once else ""
    place = "back to its own place" if part.own_place else ""
    asked = " ".join(question.ask for question in part.questions.values())
    supplies = "; ".join(
        ", ".join(filter(None, (each.what, each.where, each.how_much))) for each in part.apply
    )
    return ", ".join(filter(None, (once, place, asked, supplies)))


def _caution(caution: Caution) -> str:
    return "Caution, to be acknowledged" if caution.severe else "Caution"


def _figure(group: FastenerGroup) -> str:
    """Draw a group, as an address that holds the drawing itself: so drawings do not share their styles."""
    return f"data:image/svg+xml;base64,{base64.b64encode(draw(group).encode()).decode()}"


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("assistant.author"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters.update(caution=_caution)
    return environment
