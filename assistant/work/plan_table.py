"""A plan as rows and as a table: what is done where, to which value, with which tool."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Context
from typing import Any, Final

from rich.markup import escape
from rich.table import Table

from assistant.torque.group import FastenerGroup
from assistant.torque.plan import Act
from assistant.torque.units import Quantity
from assistant.torque.wrench import Choice

Step = tuple[Act, Choice | None]
"""An act, and the wrench for it where there is one."""

_TORQUE_DIGITS: Final = 4
_DIGITS: Final = 6
_LONG: Final = 20
_ACTS: Final = {
    "hand": "run in by hand",
    "snug": "snug",
    "torque": "tighten",
    "angle": "turn further",
    "back-off": "back off",
    "rise": "turn",
    "check": "check",
    "centre": "run up the centring tool",
    "replace": "put the fastener in the tool's place",
}


def shown(quantity: Quantity) -> str:
    """Round for reading, half up: a torque to four digits, anything else to six; whole digits all stay."""
    written, value = str(quantity), quantity.value
    digits = _TORQUE_DIGITS if quantity.dimension == "torque" else _DIGITS
    context = Context(prec=max(digits, value.adjusted() + 1), rounding=ROUND_HALF_UP)
    rounded = context.plus(value)
    if "/" in written or (rounded == value and len(written) < _LONG):
        return written
    return f"{rounded.normalize(context):f} {quantity.unit}"


def as_row(number: int, act: Act, choice: Choice | None) -> dict[str, Any]:
    """Give an act with its number, its tool, and every value exact, as text."""
    row = act.model_dump(mode="json", include={"position", "stage", "stages", "round", "rounds", "until"})
    value = {
        "what": act.kind,
        "value": str(act.value) if act.value else None,
        "unit": act.value.unit if act.value else None,
    }
    tool = choice and {
        "wrench": choice.wrench.name,
        "say": choice.wrench.spoken,
        "setting": str(choice.setting),
        "doubts": [doubt.text for doubt in choice.doubts],
    }
    return {"number": number} | row | value | {"final": act.final, "clicks": act.clicks, "tool": tool}


def heading(group: FastenerGroup) -> str:
    """Name the group with what its fasteners are."""
    count = "1 position" if group.count == 1 else f"{group.count} positions"
    about = (group.thread, group.property_class, group.condition, "left-hand" if group.left_hand else None)
    return f"{group.spoken}: {', '.join([count, *filter(None, about)])}"


def table_of(steps: Sequence[Step]) -> Table:
    """Lay out the acts in their order, a row each, values rounded for reading."""
    chosen = any(choice for _, choice in steps)
    table = Table("", "position", "what", "value", "stage", *(["tool and setting"] if chosen else []))
    for number, (act, choice) in enumerate(steps, start=1):
        stage = f"{act.stage} of {act.stages}{', final' if act.final else ''}"
        tool = f"{choice.wrench.name}: {shown(choice.setting)}" if choice else ""
        cells = (
            str(number),
            str(act.position),
            _ACTS[act.kind],
            _value(act),
            stage,
            *([tool] if chosen else []),
        )
        table.add_row(*(escape(cell) for cell in cells))
    return table


def _value(act: Act) -> str:
    until = act.until if act.until is None or isinstance(act.until, str) else shown(act.until)
    rounds = f"round {act.round} of {act.rounds}" if act.rounds else "as many rounds as it takes"
    parts = (
        shown(act.value) if act.value else None,
        f"until {until}" if until else None,
        rounds if act.kind == "rise" else None,
        "should click" if act.clicks else None,
    )
    return ", ".join(filter(None, parts))
