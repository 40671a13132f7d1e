"""A newer revision of the procedure: offered when the job is taken up, taken on a yes, or left on a no."""

from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import ask_to_begin, is_settled, prompt
from assistant.dialogue.turn import Turn
from assistant.job.events import RevisionAnswered
from assistant.procedure.route import Newer


def offer(turn: Turn) -> bool:
    """Ask whether the job goes on with a newer text, once for each; one that lacks what was worked on is told."""
    newer = turn.route.newer
    if newer is None or newer.revision <= turn.state.revision_answered:
        return False
    if newer.lost:
        turn.record(RevisionAnswered(revision=newer.revision, taken=False))
        what = tuple(
            each if isinstance(each, str) else Line("revision.step", {"number": each}) for each in newer.lost
        )
        turn.say("revision.lost", revision=newer.revision, what=what, count=len(what))
        return False
    turn.ask("revision")
    return True


def revision_line(turn: Turn, _about: object) -> Line:
    """Put the question."""
    return Line("ask.revision", {"revision": _newer(turn).revision})


def take(turn: Turn, _about: object) -> None:
    """Record the newer text as the job's; whoever holds the route turns to the new one and says "revised"."""
    newer = _newer(turn)
    turn.record(RevisionAnswered(revision=newer.revision, taken=True, text=newer.text))


def leave(turn: Turn, _about: object) -> None:
    """Go on with the text that the job has."""
    turn.record(RevisionAnswered(revision=_newer(turn).revision, taken=False))
    turn.say("revision.left", revision=turn.route.procedure.revision)
    _go_on(turn)


def on_revised(turn: Turn, _intent: Intent) -> None:
    """Say which text holds from here on, which steps that are done read otherwise now, and what is next."""
    turn.say("revision.taken", revision=turn.route.procedure.revision)
    look_again = [
        name for name in turn.route.names if name in turn.route.reads_otherwise & set(turn.state.done)
    ]
    if numbers := tuple(map(turn.step_number, look_again)):
        turn.say("revision.look", numbers=numbers, count=len(numbers))
    _go_on(turn)


def _go_on(turn: Turn) -> None:
    """Say what the step wants now; of a job that nobody has begun, the cautions of the text that holds now."""
    if not turn.state.at:
        ask_to_begin(turn)
    elif is_settled(turn, turn.step):
        turn.say("step.already", number=turn.step_number(turn.step.step))
    else:
        prompt(turn, turn.step)


def _newer(turn: Turn) -> Newer:
    assert turn.route.newer is not None, "there is no newer revision"  # noqa: S101
    return turn.route.newer


HANDLERS = {"revised": on_revised}
