"""The dialogue: `handle` takes what was meant and gives what happened and what is answered.

A pure function of the route, the state of the job, the intents of one utterance and the time. It
has no clock, no file and no sound in it. Each module of this room brings a table of handlers, one
for each intent; here they are put together, and here the order of a turn is kept: what was heard is
recorded first, then each intent is worked out in turn, and a question asked on the way ends the turn.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from assistant.dialogue import (
    answering,
    closing,
    counting,
    deciding,  # noqa: F401  (enters its reader and its "done")
    going,
    hearing,
    helping,
    judging,
    kit,
    measuring,
    noting,
    parts,
    playing,
    recalling,
    revising,
    skipping,
    standing,
    steps,
    talk,
    telling,
    tightening,
    tooling,
    waiting,
    working_out,  # noqa: F401  (brings its step into the tables of steps)
)
from assistant.dialogue.intents import Intent
from assistant.dialogue.questions import QUESTIONS, question_line
from assistant.dialogue.reply import Reply
from assistant.dialogue.steps import prompt, wants_acknowledgement
from assistant.dialogue.turn import Handler, Turn
from assistant.job.events import Event, Heard, JobOpened, Refused
from assistant.job.state import JobState
from assistant.procedure.route import Route

HANDLERS: Final[Mapping[str, Handler]] = {
    **steps.HANDLERS,
    **going.HANDLERS,
    **standing.HANDLERS,
    **tightening.HANDLERS,
    **telling.HANDLERS,
    **counting.HANDLERS,
    **judging.HANDLERS,
    **tooling.HANDLERS,
    **measuring.HANDLERS,
    **parts.HANDLERS,
    **kit.HANDLERS,
    **recalling.HANDLERS,
    **waiting.HANDLERS,
    **answering.HANDLERS,
    **revising.HANDLERS,
    **skipping.HANDLERS,
    **closing.HANDLERS,
    **noting.HANDLERS,
    **playing.HANDLERS,
    **talk.HANDLERS,
    **helping.HANDLERS,
    **hearing.HANDLERS,
}
"""What each intent does; a test holds the keys against the list of intents."""

BESIDE_A_QUESTION: Final = frozenset(
    {
        "opened",
        "returned",
        "revised",
        "tick",
        "let-be",
        "not-here",
        "not-understood",
        "yes",
        "no",
        "reason",
        "cancel",
        "undo",
        "repeat",
        "help",
    }
    | {*hearing.HANDLERS}
    | {"stop", "quiet", "louder", "softer", "slower", "faster", "pause", "resume", "where", "caution", "open"}
    | {
        "note",
        "note-end",
        "note-over",
        "notes-play",
        "picture",
        "picture-taken",
        "picture-failed",
        "timer-left",
        "tool",
        "torque",
        "sequence",
        "adapter",
        "in-unit",
        "hold",
        "value-of",
        "how-so",
        "last",
        "time-left",
        "where-is",
        "what-is",
        "kit-left",
        "inside",
    }
)
"""What can be said while a question is pending; anything else waits for the answer."""

WORK: Final = frozenset(
    {"done", "position-done", "correct", "all-done", "click", "count", "measured", "timer-start"}
)
"""What says that work was done or begins: not before the step's severe caution was answered."""

NOT_IN_A_PAUSE: Final = WORK | {"next", "back", "skip", "undo", "go-to", "reopen"}
"""What waits until work is taken up again."""

AFTER_AN_ANSWER: Final = frozenset({"next"})
"""What a question that comes between keeps for after its answer: "done next", where something is asked first."""

REMINDED: Final = frozenset(
    {"returned", "resume", "where", "open", "last", "inside", "caution", "undo", "note-end", "note-over"}
)
"""After these, a question that was pending before is put again."""


@dataclass(frozen=True)
class Outcome:
    """What a turn comes to: the events to be kept, the reply, and the state after them."""

    events: tuple[Event, ...]
    reply: Reply
    state: JobState


def handle(
    route: Route,
    state: JobState,
    intents: Sequence[Intent],
    now: datetime,
    *,
    heard: Heard | Refused | JobOpened | None = None,
) -> Outcome:
    """Work out one utterance. `now` is in the zone in which times are told; `heard` is recorded first."""
    turn = Turn(route, state, now)
    if heard is not None:
        turn.record(heard)
    for place, intent in enumerate(intents):
        asked_before = turn.state.question
        turn.then = next((each.name for each in intents[place + 1 :] if each.name in AFTER_AN_ANSWER), "")
        turn.follows = intents[place + 1].name if intents[place + 1 :] else ""
        _work_out(turn, intent)
        if turn.state.question is not None and turn.state.question is not asked_before:
            break
    _put_question(turn, state, intents)
    return Outcome(tuple(turn.events), turn.reply(), turn.state)


def _work_out(turn: Turn, intent: Intent) -> None:
    if turn.state.listing is not None and intent.name in playing.WHILE_PLAYING:
        playing.WHILE_PLAYING[intent.name](turn, intent)
        return
    if intent.name not in playing.BESIDE_PLAYING:
        playing.leave(turn)
    if turn.state.closed:
        turn.say("closed.already")
    elif turn.state.paused and intent.name in NOT_IN_A_PAUSE:
        turn.say("paused")
    elif turn.state.question is not None and intent.name not in _taken(turn.state.question.name):
        turn.say("answer.first")
        turn.must_ask = True
    elif intent.name in WORK and wants_acknowledgement(turn, turn.step):
        prompt(turn, turn.step)
    elif intent.name in WORK and going.held_back(turn):
        pass  # what has to come first was said
    else:
        HANDLERS[intent.name](turn, intent)


def _taken(question: str) -> frozenset[str]:
    """Name the intents that may be said to a question."""
    return BESIDE_A_QUESTION | QUESTIONS[question].takes


def _put_question(turn: Turn, before: JobState, intents: Sequence[Intent]) -> None:
    """Put the question that this turn asked, or remind of the one that is still pending."""
    new = turn.state.question is not before.question
    reminded = turn.must_ask or any(intent.name in REMINDED for intent in intents)
    line = question_line(turn, new=new)
    if line is not None and (new or reminded) and not turn.state.paused:
        turn.add(line)
