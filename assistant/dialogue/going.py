"""Moving among the steps: onwards, looking at one, doing one again, and what must come first.

"Go to step seven" moves the reading and nothing else. "Reopen step seven" says that it is to be done again: what
rests on it becomes suspect and is gone through again, each only as far as somebody says that it is not good any more.
"""

from collections.abc import Mapping

from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import value_of
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import go_to, is_settled, prompt, what_comes_first
from assistant.dialogue.turn import Turn
from assistant.dialogue.waiting import say_soonest
from assistant.job.events import GroupLoosened, StepReached, StepReopened, SuspectCleared, WorkedBefore
from assistant.job.way import is_any_open, is_ready, missing_before, next_step, resting_on, steps_of
from assistant.procedure.model import Step
from assistant.torque.group import FastenerGroup


def on_next(turn: Turn, _intent: Intent) -> None:
    """Move to the next step that is ready; not past one that could be done here and now."""
    if is_ready(turn.route, turn.state, turn.step):
        if not turn.has_spoken:  # else "done" has just told what it still wants
            turn.say("step.still-open", number=turn.step_number(turn.step.step))
            prompt(turn, turn.step)
    elif step := next_step(turn.route, turn.state, turn.step.step):
        go_to(turn, step)
    elif is_any_open(turn.route, turn.state):
        turn.say("meanwhile.none")
        say_soonest(turn)
    else:
        turn.say("steps.all-done")


def held_back(turn: Turn) -> bool:
    """Tell whether work has to wait for a step that this one rests on; a gate is gone to, others are asked about."""
    step = turn.step
    missing = () if is_settled(turn, step) else what_comes_first(turn, step)
    gate = next((each for each in missing if each.check), None)
    if gate is not None:
        turn.say("gate.first", number=turn.step_number(gate.step))
        go_to(turn, gate)
    elif missing:
        turn.ask("before", {"step": step.step, "missing": missing[0].step})
    return bool(missing)


def before_line(turn: Turn, about: Mapping[str, str]) -> Line:
    """Say what should come first, and ask whether this is done before it."""
    return Line(
        "ask.before",
        {"missing": turn.step_number(about["missing"]), "number": turn.step_number(about["step"])},
    )


def work_before(turn: Turn, about: Mapping[str, str], reason: str) -> None:
    """Record that a step is worked before one that it rests on, and say what it wants."""
    turn.record(WorkedBefore(step=about["step"], missing=about["missing"], reason=reason))
    prompt(turn, turn.step)


def _named(turn: Turn, intent: Intent) -> Step | None:
    """Give the step of a spoken number; says so where there is none."""
    number = int(value_of(intent.slots["step"]))
    if 1 <= number <= len(turn.route.steps):
        step = turn.route.steps[number - 1]
        if step in steps_of(turn.route, turn.state):
            return step
        turn.say("go.not-here", number=number)
        return None
    turn.say("go.none", count=len(turn.route.steps))
    return None


def on_go_to(turn: Turn, intent: Intent) -> None:
    """Read another step; nothing that was done is changed."""
    if step := _named(turn, intent):
        go_to(turn, step)


def on_reopen(turn: Turn, intent: Intent) -> None:
    """Have a step done again; ask of each group that lies on it whether it has to come loose."""
    step = _named(turn, intent)
    if step is None:
        return
    if step.step not in turn.state.done and step.step not in turn.state.skipped:
        turn.say("step.to-do", number=turn.step_number(step.step))
        return
    before, loose = set(turn.state.suspect), _loose(turn, step)
    _reopen(turn, step)
    turn.record(StepReached(step=step.step))
    turn.tone("recorded")
    count = len(set(turn.state.suspect) - before)
    if count:
        turn.say("reopened", number=turn.step_number(step.step), count=count, loose=loose)
    else:
        turn.say("reopened.alone", number=turn.step_number(step.step), loose=loose)
    _ask_or_read(turn, step, _groups_on(turn, step))


def _reopen(turn: Turn, step: Step) -> None:
    """Have a step done again, and make suspect what rests on it; what was tightened at it comes loose."""
    group = _tightened_at(turn, step)
    turn.record(StepReopened(step=step.step, suspect=resting_on(turn.route, turn.state, step.step)))
    if group:
        _loosen(turn, group.name, step)


def _tightened_at(turn: Turn, step: Step) -> FastenerGroup | None:
    """Give the group of which something is done at a step; one that was only left out has nothing to loosen."""
    if not step.tighten:
        return None
    group = turn.route.group(step)
    done = turn.state.acts.get(group.name, frozenset())
    return group if any(number in done for number, _ in turn.route.acts(step)) else None


def _loose(turn: Turn, step: Step) -> Line:
    """Say that the group of a tightening step begins from nothing; whoever meant one position takes it back."""
    group = _tightened_at(turn, step)
    return Line("group.loose", {"group": group.spoken}) if group else Line("nothing")


def _loosen(turn: Turn, group: str, because: Step) -> None:
    """Put a group back to nothing: all steps that tightened it are to be done again, its first stages too."""
    for step in turn.route.steps:
        if step.tighten and step.tighten.group == group and step.step in turn.state.done:
            suspect = resting_on(turn.route, turn.state, step.step)
            turn.record(StepReopened(step=step.step, suspect=suspect))
    turn.record(GroupLoosened(group=group, step=because.step))


def _groups_on(turn: Turn, step: Step) -> list[str]:
    """Give the groups that were tightened in steps that rest on this one, each once."""
    own = step.tighten.group if step.tighten else ""
    on_it = [each for each in turn.route.steps if each.tighten and turn.route.rests(each.step, step.step)]
    worked = {group for group, _ in turn.state.ledger}
    names = dict.fromkeys(each.tighten.group for each in on_it if each.tighten)
    return [name for name in names if name in worked and name != own]


def _ask_or_read(turn: Turn, step: Step, groups: list[str]) -> None:
    if groups:
        turn.ask("loosen", {"step": step.step, "groups": "|".join(groups)})
    else:
        go_to(turn, _first_to_tighten(turn, step))


def _first_to_tighten(turn: Turn, step: Step) -> Step:
    """Give the step that begins a group which came loose: its first stages are another step's, before this one."""
    group = step.tighten.group if step.tighten else None
    missing = missing_before(turn.route, turn.state, step)
    return next((each for each in missing if each.tighten and each.tighten.group == group), step)


def loosen_line(turn: Turn, about: Mapping[str, str]) -> Line:
    """Ask whether a group has to be loosened for the step."""
    group = turn.route.procedure.groups[about["groups"].split("|")[0]]
    return Line("ask.loosen", {"group": group.spoken})


def loosen(turn: Turn, about: Mapping[str, str], *, yes: bool) -> None:
    """Take the answer for one group; its steps are to be done again if it comes loose."""
    group, *others = about["groups"].split("|")
    if yes:
        _loosen(turn, group, turn.route.step(about["step"]))
        turn.tone("recorded")
    _ask_or_read(turn, turn.route.step(about["step"]), others)


def suspect_line(turn: Turn, about: Mapping[str, str]) -> Line:
    """Ask whether a step is still good."""
    because = turn.state.suspect.get(about["step"], about["step"])
    return Line("ask.suspect", {"because": turn.step_number(because)})


def still_good(turn: Turn, about: Mapping[str, str]) -> None:
    """Take a suspect step as still good."""
    turn.record(SuspectCleared(step=about["step"]))
    turn.tone("recorded")
    turn.say("suspect.cleared", number=turn.step_number(about["step"]))


def not_good(turn: Turn, about: Mapping[str, str]) -> None:
    """Have a suspect step done again; of a tightening one, the group begins from nothing."""
    step = turn.route.step(about["step"])
    loose = _loose(turn, step)
    _reopen(turn, step)
    turn.say("step.to-do-loose", number=turn.step_number(step.step), loose=loose)
    prompt(turn, step)


HANDLERS = {"next": on_next, "go-to": on_go_to, "reopen": on_reopen}
