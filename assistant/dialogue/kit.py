"""The kit that counts down, what is put on, and what goes into the machine and must come out again."""

from collections.abc import Mapping

from assistant.dialogue.intents import Intent
from assistant.dialogue.names import kit_parts, name_in, supplies
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import go_on
from assistant.dialogue.supplies import counted, kit_left, unapplied
from assistant.dialogue.turn import Turn
from assistant.job.events import PartReused, PartUsed, SupplyApplied, ToolMoved

About = Mapping[str, str]


def _part(turn: Turn, intent: Intent) -> str:
    return name_in(kit_parts(turn.route), intent.slots["thing"])


def _step_for(turn: Turn, part: str) -> str:
    """Name the step at which a part of the kit is fitted: this one, else the first that uses it."""
    here = turn.step
    users = [step.step for step in turn.route.steps if part in step.use]
    return here.step if part in here.use or not users else users[0]


def _known(turn: Turn, part: str) -> bool:
    """Tell whether the kit has such a part; says so where not."""
    if part in turn.route.procedure.parts:
        return True
    turn.say("kit.none", what=part)
    return False


def on_fitted(turn: Turn, intent: Intent) -> None:
    """Count one of the kit as fitted, before its step is said to be done."""
    part = _part(turn, intent)
    if not _known(turn, part):
        return
    spare = kit_left(turn, part)
    turn.record(PartUsed(part=part, step=_step_for(turn, part)))
    turn.tone("recorded")
    if not spare:
        turn.say("kit.beyond", total=turn.route.procedure.parts[part].count)
    else:
        _say_left(turn, part)


def on_kit_left(turn: Turn, intent: Intent) -> None:
    """Say how many of a part of the kit are left."""
    part = _part(turn, intent)
    if _known(turn, part):
        _say_left(turn, part)


def _say_left(turn: Turn, part: str) -> None:
    turn.say("kit.left", what=part, count=kit_left(turn, part), total=turn.route.procedure.parts[part].count)


def on_reuse(turn: Turn, intent: Intent) -> None:
    """Ask why the old part is fitted again."""
    part = _part(turn, intent)
    if _known(turn, part):
        turn.ask("reuse", {"step": _step_for(turn, part), "part": part})


def reuse_line(turn: Turn, about: About) -> Line:
    """Ask for the reason; say so where the part is for one use only."""
    once = turn.route.procedure.parts[about["part"]].use_once
    return Line("ask.reuse-once" if once else "ask.reuse", {"what": about["part"]})


def reuse(turn: Turn, about: About, reason: str) -> None:
    """Record that the old part is fitted again; of one that is for one use that is a departure."""
    part = about["part"]
    once = turn.route.procedure.parts[part].use_once
    turn.record(PartReused(part=part, step=about["step"], reason=reason, departure=once))
    turn.tone("recorded")
    turn.say("kit.reused", what=part, reason=reason)


def on_applied(turn: Turn, intent: Intent) -> None:
    """Take what was named as put on, here or at a step that was done without it; else what this step wants next."""
    if "supply" in intent.slots:
        _apply_named(turn, name_in(supplies(turn.route), intent.slots["supply"]))
    elif lacking := unapplied(turn, turn.step):
        apply(turn, turn.step.step, lacking[0])
        if left := unapplied(turn, turn.step):
            turn.say("supply.still", names=left, count=len(left))
    elif turn.route.supplies(turn.step):
        turn.say("supply.already")
    else:
        turn.say("supply.not-here")


def _apply_named(turn: Turn, what: str) -> None:
    done = (step for step in turn.route.steps if step.step in turn.state.done)
    lacking = [step.step for step in (turn.step, *done) if what in unapplied(turn, step)]
    if lacking:
        apply(turn, lacking[0], what)
    elif any(supply.what == what for supply in turn.route.supplies(turn.step)):
        turn.say("supply.already")
    else:
        turn.say("supply.not-here")


def apply(turn: Turn, step: str, what: str) -> None:
    """Record that something was put on at a step."""
    turn.record(SupplyApplied(step=step, what=what))
    turn.tone("recorded")
    turn.say("supply.applied", what=what)


def applied_line(_turn: Turn, about: About) -> Line:
    """Ask whether something was put on that a step wants."""
    return Line("ask.applied", {"what": about["what"]})


def not_applied(turn: Turn, about: About) -> None:
    """Leave it open; a step that is not done yet waits for it."""
    if about["step"] in turn.state.done:
        turn.say("supply.stays")
    else:
        turn.say("supply.not-yet")


def applied_after_all(turn: Turn, about: About) -> None:
    """Record it, and go on with the step."""
    apply(turn, about["step"], about["what"])
    go_on(turn, turn.route.step(about["step"]))


def on_tool(turn: Turn, intent: Intent) -> None:
    """Count a tool, plug or rag in or out, wherever the work stands."""
    tool = name_in(turn.route.procedure.tools, intent.slots["tool"])
    going_in = intent.name == "tool-in"
    if not going_in and tool not in turn.state.inside:
        turn.say("tool.not-inside", what=tool)
        return
    turn.record(ToolMoved(tool=tool, inside=going_in, step=turn.step.step))
    turn.tone("recorded")
    inside = turn.state.inside.get(tool, 0)
    if inside:
        turn.say("tool.inside", what=tool, count=inside)
    else:
        turn.say("tool.out", what=tool)
    known = turn.route.procedure.tools.get(tool)
    if known and inside > known.count:
        turn.say("tool.beyond", count=known.count)


def on_inside(turn: Turn, _intent: Intent) -> None:
    """Say what is still in the machine."""
    inside = tuple(counted(tool, count) for tool, count in turn.state.inside.items())
    if inside:
        turn.say("inside", names=inside)
    else:
        turn.say("inside.nothing")


HANDLERS = {
    "fitted": on_fitted,
    "kit-left": on_kit_left,
    "reuse": on_reuse,
    "applied": on_applied,
    "tool-in": on_tool,
    "tool-out": on_tool,
    "inside": on_inside,
}
