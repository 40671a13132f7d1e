"""A step that works a value out: said with its verdict when it is read, kept when the mechanic says done."""

from assistant.dialogue.measuring import ask_whether_it_stands, doubt_what_rests
from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.steps import DONE, READERS, complete, owns
from assistant.dialogue.turn import Turn
from assistant.dialogue.valued import limits_line, say_impossible, say_missing
from assistant.errors import TorqueError
from assistant.job.events import WorkedOut
from assistant.job.values import is_outside, missing, work_out
from assistant.measures.conformity import GOOD, Limits
from assistant.measures.readings import readable
from assistant.procedure.model import Step
from assistant.procedure.values import WorkOut


def _wanted(step: Step) -> WorkOut:
    assert step.work_out is not None, f"{step.step} works nothing out"  # noqa: S101
    return step.work_out


def worked_now(turn: Turn, step: Step) -> WorkedOut | None:
    """Work a step's value out from what is known now; say why where that cannot be."""
    if names := missing(turn.route, turn.state, _wanted(step)):
        say_missing(turn, names)
        return None
    try:
        return work_out(turn.route, turn.state, step.step)
    except TorqueError:
        say_impossible(turn, _wanted(step))
        return None


@owns(READERS, "work_out")
def read_worked(turn: Turn, step: Step) -> None:
    """Say what comes out, and how it stands; nothing is kept by that. What is kept already may be asked about."""
    if ask_whether_it_stands(turn, step):
        return
    found = worked_now(turn, step)
    if found is not None:
        turn.add(worked_line(step, found))


def worked_line(step: Step, found: WorkedOut) -> Line:
    """Say a value that was worked out, or the size to take and what it leaves."""
    wanted = _wanted(step)
    slots: dict[str, Slot] = {"what": wanted.what, "value": readable(found.value)}
    if found.size is not None and found.leaves is not None and wanted.leaves is not None:
        slots |= {"size": found.size, "left": wanted.leaves.what, "leaves": readable(found.leaves)}
    if found.verdict != "no limits":
        slots |= {"how": Line(f"verdict.{found.verdict}"), "limits": limits_line(_limits(found))}
    return Line(_key(found), slots)


def _key(found: WorkedOut) -> str:
    """Choose the phrase: with a size or without, and whether it is right."""
    about = "worked.size" if found.size is not None else "worked"
    if found.verdict in GOOD:
        return about if found.verdict == "in" else "worked.free"
    return f"{about}-doubt" if found.verdict == "in doubt" else f"{about}-not"


def _limits(found: WorkedOut) -> Limits:
    return Limits(least=found.least, most=found.most)


@owns(DONE, "work_out")
def done_worked(turn: Turn, step: Step) -> None:
    """Keep the value; outside its limits, ask whether it shall stand."""
    found = worked_now(turn, step)
    if found is None:
        return
    if turn.state.worked.get(step.step) != found:
        turn.record(found)
        turn.tone("recorded")
        doubt_what_rests(turn)
    if is_outside(turn.state, step.step):
        turn.ask("out-of-limits", {"step": step.step})
    else:
        complete(turn, step)
