"""What can be said here: on "help", and to whoever was not understood; where one of a few answers is wanted, these."""

from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.modes import mode_of
from assistant.dialogue.parts import answers_to_told
from assistant.dialogue.turn import Turn

PATIENCE: Final = 2
"""After so many misses in a row it says what it can take."""
REMINDED_EVERY: Final = 3
"""After so many more it says it once more; in between it only sounds the tone."""

REMINDED_AT: Final = (3, 15, 60)
"""Of talk in a row that answers no pending question, after so many it is put again, and after the last no more.

The third is where who answered and was not heard gives up; ever more apart, so that talk with a helper is not answered.
"""


def say_help(turn: Turn) -> None:
    """Say what can be said now, the shortest first."""
    mode = mode_of(turn.route, turn.state)
    answers = {"told": _told, "person": _people}.get(mode)
    turn.say(f"help.{mode}", answers=answers(turn) if answers else ())


def _people(turn: Turn) -> tuple[str, ...]:
    return tuple(turn.route.procedure.people)


def _told(turn: Turn) -> tuple[str, ...]:
    """Give the answers that the pending question about a part can take."""
    return answers_to_told(turn, turn.state.question.about) if turn.state.question else ()


def on_help(turn: Turn, _intent: Intent) -> None:
    """Say what can be said here."""
    say_help(turn)
    turn.passing = True


def on_not_understood(turn: Turn, _intent: Intent) -> None:
    """Ask again, shortly; the second time say what can be said here; then mostly only sound the tone."""
    turn.tone("not understood")
    turn.passing = True
    if turn.state.misses < PATIENCE:
        turn.say("again")
    elif _is_help_due(turn):
        say_help(turn)


def _is_help_due(turn: Turn) -> bool:
    """Tell whether a miss is one of those at which it is said what can be said."""
    return turn.state.misses >= PATIENCE and (turn.state.misses - PATIENCE) % REMINDED_EVERY == 0


def on_not_here(turn: Turn, _intent: Intent) -> None:
    """Say where the job stands, and what can be said here, if the last miss did not say it: it is long."""
    turn.say("not-here", number=turn.step_number(turn.step.step))
    if not _is_help_due(turn):
        say_help(turn)
    turn.passing = True


def on_let_be(turn: Turn, _intent: Intent) -> None:
    """Remind of the question that waits, for some of the talk that was let be may have been meant as an answer."""
    turn.passing = turn.must_ask = True


HANDLERS = {
    "help": on_help,
    "let-be": on_let_be,
    "not-here": on_not_here,
    "not-understood": on_not_understood,
}
