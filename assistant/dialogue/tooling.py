"""Which tool: the shop's wrench for a value and what it is set to, with an adapter, or in another unit."""

from collections.abc import Collection
from typing import Final

from assistant.dialogue.acts import acts_left, next_act
from assistant.dialogue.converted import torque_in
from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import unit_of
from assistant.dialogue.telling import say_stages_in
from assistant.dialogue.turn import Turn
from assistant.errors import TorqueError
from assistant.job.events import CalibrationTold
from assistant.procedure.model import Adapter
from assistant.torque.adapter import CAUTIONS
from assistant.torque.plan import Act, torque_of
from assistant.torque.units import Quantity
from assistant.torque.wrench import USUAL_TOLERANCE, Choice, choose, direct, through

_RIGHT_ANGLE: Final = 90


def current_torque(turn: Turn) -> tuple[Act, Quantity] | None:
    """Give the act that comes next and its torque, where it has one."""
    if turn.step.action != "tighten" or not acts_left(turn, turn.step):
        return None
    act = next_act(turn, turn.step)[1]
    value = torque_of(act)
    return (act, value) if value is not None else None


def _adapter(turn: Turn) -> Adapter | None:
    return turn.step.tighten.adapter if turn.step.tighten else None


def _choice(turn: Turn, value: Quantity, without: Collection[str] = ()) -> Choice:
    """Choose among the wrenches that were not laid aside, with the step's adapter counted in."""
    group, adapter = turn.route.group(turn.step), _adapter(turn)
    return choose(
        turn.route.shop.without({*turn.state.laid_aside, *without}),
        value,
        group.tolerance or USUAL_TOLERANCE,
        left_hand=group.left_hand,
        reach=through(adapter.length, adapter.angle) if adapter else direct,
    )


def wrench_for(turn: Turn, act: Act) -> str:
    """Name the wrench that suits an act, or "" where the shop's list has none or the act needs none."""
    value = torque_of(act)
    if value is None or not turn.route.shop.wrenches:
        return ""
    try:
        return _choice(turn, value).wrench.name
    except TorqueError:
        return ""


def has_other_wrench(turn: Turn, act: Act, name: str) -> bool:
    """Tell whether another wrench of the shop suits, were this one laid aside too; without a list there may be."""
    value = torque_of(act)
    if value is None or not turn.route.shop.wrenches:
        return True
    try:
        _choice(turn, value, without={name})
    except TorqueError:
        return False
    return True


def say_wrench(turn: Turn, act: Act, *, fittings: bool = True) -> None:
    """Say which wrench of the shop suits an act, and what to mind about it; as a step begins, about `fittings` too."""
    value = torque_of(act)
    if value is None:
        return
    if not turn.route.shop.wrenches:
        if adapter := _adapter(turn):
            _say_adapter(turn, adapter)
            _say_first_fitting(turn, adapter, wanted=fittings)
        return
    try:
        choice = _choice(turn, value)
    except TorqueError as error:
        turn.say(_why_none(error))
        return
    turn.say(
        "wrench.with-adapter" if _adapter(turn) else "wrench",
        wrench=choice.wrench.spoken,
        setting=choice.setting,
    )
    for doubt in choice.doubts:
        turn.say(f"wrench.{doubt.kind}")
    if adapter := _adapter(turn):
        _say_first_fitting(turn, adapter, wanted=fittings)
    _say_calibration(turn, choice)


def _say_adapter(turn: Turn, adapter: Adapter) -> None:
    """Say which way an adapter changes the setting, where no wrench is listed."""
    degrees = abs(adapter.angle.exact("deg")) % 360
    folded = min(degrees, 360 - degrees)
    turn.say(
        "adapter.same"
        if folded == _RIGHT_ANGLE
        else f"adapter.{'lower' if folded < _RIGHT_ANGLE else 'higher'}"
    )


def _say_first_fitting(turn: Turn, adapter: Adapter, *, wanted: bool) -> None:
    """Say what to mind about the fitting that costs most; the others are told when the adapter is asked about."""
    if not wanted or turn.route.acts(turn.step) != acts_left(turn, turn.step):
        return
    fittings = _costliest_first(adapter)
    for fitting in fittings[:1]:
        turn.say("adapter.caution", text=CAUTIONS[fitting])
    if fittings[1:]:
        turn.say("adapter.more")


def _costliest_first(adapter: Adapter) -> list[str]:
    return sorted(adapter.fittings, key=list(CAUTIONS).index)


def _why_none(error: TorqueError) -> str:
    """Give the phrase for why no wrench can be named."""
    if "length" in error.what:
        return "adapter.unknown"
    return "wrench.too-coarse" if "set within" in error.what else "wrench.no-range"


def _say_calibration(turn: Turn, choice: Choice) -> None:
    """Tell the age of the wrench's calibration, once in a job."""
    wrench = choice.wrench
    if wrench.name in turn.state.calibrations_told:
        return
    turn.record(CalibrationTold(wrench=wrench.name))
    if wrench.calibrated is None:
        turn.say("wrench.never-calibrated")
    elif wrench.uses >= wrench.uses_allowed:
        turn.say("wrench.worn", uses=wrench.uses)
    elif wrench.calibrated > turn.now.date():
        turn.say("wrench.to-come")
    else:
        months = max(0, (turn.now.date() - wrench.calibrated).days // 30)
        late = "wrench.overdue" if wrench.calibration(turn.now.date()) else "wrench.calibrated"
        turn.say(late, months=months)


def on_tool(turn: Turn, _intent: Intent) -> None:
    """Say the shop's wrench for the value that comes next; without one, what the author wrote for the step."""
    found = current_torque(turn)
    if found and turn.route.shop.wrenches:
        say_wrench(turn, found[0])
    elif turn.step.tool:
        turn.say("tool", tool=turn.step.tool)
    else:
        turn.say("tool.none")


def on_adapter(turn: Turn, _intent: Intent) -> None:
    """Say what the wrench is set to with the step's adapter on, and what is to be minded about fittings."""
    adapter, found = _adapter(turn), current_torque(turn)
    if adapter is None or found is None:
        turn.say("adapter.none" if adapter is None else "adapter.not-now")
        return
    say_wrench(turn, found[0], fittings=False)
    for fitting in _costliest_first(adapter):
        turn.say("adapter.caution", text=CAUTIONS[fitting])


def on_in_unit(turn: Turn, intent: Intent) -> None:
    """Say the value that comes next in another unit, rounded for speech; the written one is what counts.

    Straight after what a group is brought to was told, that is said once more in the unit.
    """
    unit, found = unit_of(intent.slots["unit"]), current_torque(turn)
    if turn.state.torque_told:
        say_stages_in(turn, turn.state.torque_told, unit)
        return
    if found is None:
        turn.say("tighten.not-here" if turn.step.action != "tighten" else "adapter.not-now")
        return
    _, value = found
    turn.say("in-unit", said=torque_in(value, unit), written=value)


HANDLERS = {"tool": on_tool, "adapter": on_adapter, "in-unit": on_in_unit}
