"""Going through the steps: reading one, saying that it is done, moving on and back.

What a step asks for differs by its action; two tables, READERS and DONE, hold one function for
each. The other modules of the dialogue bring theirs in `dialogue.manager`.
"""

from collections.abc import Callable

from assistant.dialogue.acts import acts_left
from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Line
from assistant.dialogue.supplies import ask_lacking, moves_of, say_counts, say_taken, say_things
from assistant.dialogue.turn import Turn
from assistant.dialogue.valued import value_line
from assistant.job import way
from assistant.job.events import CautionGiven, HelperCalled, StepDone, StepReached
from assistant.job.values import is_unsettled, kept
from assistant.procedure.model import Step

Reader = Callable[[Turn, Step], None]

READERS: dict[str, Reader] = {}
"""By action: say what the step wants now. Filled by the modules that own the actions."""

DONE: dict[str, Reader] = {}
"""By action: what "done" does at such a step."""


def owns(table: dict[str, Reader], action: str) -> Callable[[Reader], Reader]:
    """Enter a function into READERS or DONE for one action."""

    def enter(function: Reader) -> Reader:
        table[action] = function
        return function

    return enter


def read(turn: Turn, step: Step) -> None:
    """Read a step out: its caution first, which a severe one lets wait for a yes, then what is to be done."""
    if wants_acknowledgement(turn, step):
        turn.record(CautionGiven(step=step.step))
        turn.ask("caution", {"step": step.step})
        return
    if step.caution and not step.caution.severe:
        turn.record(CautionGiven(step=step.step))
        turn.say("caution", text=step.caution.say)
    turn.say("step", number=turn.step_number(step.step), text=step.say)
    if step.action != "do" and is_open(turn, step):
        say_things(turn, step)
    prompt(turn, step)
    if step.helper and is_open(turn, step) and turn.state.question is None:
        turn.record(HelperCalled(step=step.step, going=True))
        turn.say("helper", who=step.helper.who, text=step.helper.say)


def prompt(turn: Turn, step: Step) -> None:
    """Say what a step wants now, without reading it out again."""
    asks = step.action in ("check", "decide") or step.step in turn.state.suspect
    if asks and not is_settled(turn, step) and (first := what_comes_first(turn, step)):
        turn.say("comes-first", number=turn.step_number(first[0].step))
    elif step.step in turn.state.suspect:
        turn.ask("suspect", {"step": step.step})
    elif is_settled(turn, step):
        say_settled(turn, step)
    elif wants_acknowledgement(turn, step):
        turn.ask("caution", {"step": step.step})
    else:
        READERS[step.action](turn, step)


def say_settled(turn: Turn, step: Step) -> None:
    """Say that a step is done, with which value, and that one that was let stand can still be replaced."""
    if kept(turn.state, step.step) is None:
        turn.say("step.done-before")
        return
    turn.say("step.done-with", value=value_line(turn, step.step))
    if step.measure and step.step in turn.state.accepted:
        turn.say("value.replace")


def what_comes_first(turn: Turn, step: Step) -> tuple[Step, ...]:
    """Give the open steps that a step rests on, unless it is done before them for a reason."""
    before = step.step in turn.state.worked_before
    return () if before else way.missing_before(turn.route, turn.state, step)


def is_settled(turn: Turn, step: Step) -> bool:
    """Tell whether a step is done and not in suspicion: no position is to be done again, no value is open."""
    again = bool(acts_left(turn, step)) if step.action == "tighten" else _has_open_value(turn, step)
    return step.step in turn.state.done and step.step not in turn.state.suspect and not again


def _has_open_value(turn: Turn, step: Step) -> bool:
    return step.value is not None and is_unsettled(turn.route, turn.state, step.step)


def wants_acknowledgement(turn: Turn, step: Step) -> bool:
    """Tell whether a step's severe caution still has to be answered with a yes."""
    severe = step.caution is not None and step.caution.severe
    return severe and step.step not in turn.state.cautions_acknowledged and step.step not in turn.state.done


def release_helper(turn: Turn) -> None:
    """Have the helper stop, first of all that is said; nobody turns on while the work goes on elsewhere."""
    helper = turn.route.step(turn.state.helping).helper if turn.state.helping else None
    if helper:
        turn.record(HelperCalled(step=turn.state.helping, going=False))
        turn.add_first(Line("helper.release", {"who": helper.who}))


def go_to(turn: Turn, step: Step) -> None:
    """Move the reading to a step, and read it; a helper of another step stops before that."""
    if turn.state.helping != step.step:
        release_helper(turn)
    turn.record(StepReached(step=step.step))
    read(turn, step)


def is_open(turn: Turn, step: Step) -> bool:
    """Tell whether a step still has to be dealt with."""
    return way.is_open(turn.route, turn.state, step)


def say_if_none_is_left(turn: Turn) -> None:
    """Say so where no step is left, not even one that waits."""
    if not way.is_any_open(turn.route, turn.state):
        turn.say("steps.all-done")


def say_meanwhile(turn: Turn) -> None:
    """Offer the step that can be done while this one waits, if there is one."""
    if step := way.next_step(turn.route, turn.state, turn.step.step):
        turn.say("meanwhile", step=step_line(turn, step.step))


def complete(turn: Turn, step: Step) -> None:
    """Record that a step is done, with the parts and tools that it moves, and say so."""
    if turn.state.helping == step.step:
        release_helper(turn)
    turn.record(StepDone(step=step.step))
    moves = moves_of(turn, step)
    turn.record(*moves)
    turn.tone("recorded")
    if way.is_any_open(turn.route, turn.state) or not turn.has_spoken:
        turn.say("step.done", number=turn.step_number(step.step))
    say_taken(turn, moves)
    if not turn.then:  # else the next step is read in the same breath, which is long enough
        say_counts(turn, step)
    say_if_none_is_left(turn)
    ask_lacking(turn, step)


def go_on(turn: Turn, step: Step) -> None:
    """Go on with a step after something about it was answered: ask for what else lacks, or take it as done."""
    if step.step not in turn.state.done:
        DONE[step.action](turn, step)
    else:
        ask_lacking(turn, step)


def ask_to_begin(turn: Turn) -> None:
    """Say what has to be safe first, and ask whether it is seen to."""
    turn.say("cautions", text=tuple(turn.route.procedure.cautions))
    turn.ask("begin")


def on_back(turn: Turn, _intent: Intent) -> None:
    """Read the step of this job before, without changing anything that was done."""
    if step := way.step_before(turn.route, turn.state, turn.step.step):
        go_to(turn, step)
    else:
        turn.say("steps.first")


def on_done(turn: Turn, _intent: Intent) -> None:
    """Take the step, or what it asked for last, as done."""
    if is_settled(turn, turn.step):
        turn.say("step.already", number=turn.step_number(turn.step.step))
    else:
        DONE[turn.step.action](turn, turn.step)


def on_where(turn: Turn, _intent: Intent) -> None:
    """Say which step this is, how many are left, and what it wants now: an answer first, where one is waited for."""
    step = turn.step
    left = len(way.open_steps(turn.route, turn.state))
    turn.say("where", number=turn.step_number(step.step), left=left, text=step.say)
    if turn.state.question is None:
        prompt(turn, step)


def on_caution(turn: Turn, _intent: Intent) -> None:
    """Say the caution of this step, or where it has none, those of the job."""
    if turn.step.caution:
        turn.say("caution", text=turn.step.caution.say)
    else:
        turn.say("cautions", text=tuple(turn.route.procedure.cautions))


@owns(READERS, "do")
def _read_plain(turn: Turn, step: Step) -> None:
    say_things(turn, step)


@owns(DONE, "do")
def _done_plain(turn: Turn, step: Step) -> None:
    if not ask_lacking(turn, step):
        complete(turn, step)


def step_line(turn: Turn, name: str) -> Line:
    """Name a step as it is spoken of: by its number."""
    return Line("step.named", {"number": turn.step_number(name)})


HANDLERS = {
    "back": on_back,
    "done": on_done,
    "where": on_where,
    "caution": on_caution,
}
