"""The talk about the talk: beginning, coming back, pausing, repeating, taking back."""

from collections.abc import Mapping

from assistant.dialogue import waiting
from assistant.dialogue.acts import acts_left, marked_as, next_act, pass_done, what_line
from assistant.dialogue.answering import on_cancel
from assistant.dialogue.intents import Intent
from assistant.dialogue.noting import end_note
from assistant.dialogue.parts import ask_what_to_tell
from assistant.dialogue.questions import QUESTIONS
from assistant.dialogue.recorded import event_line
from assistant.dialogue.reply import Slot
from assistant.dialogue.revising import offer
from assistant.dialogue.steps import ask_to_begin, is_settled, prompt, release_helper, say_settled
from assistant.dialogue.turn import Turn
from assistant.dialogue.valued import value_line
from assistant.job.events import (
    DamageMended,
    Event,
    HelperCalled,
    JobTakenUp,
    PartTold,
    Paused,
    PositionMarked,
    Resumed,
    Undone,
    VoiceSet,
)
from assistant.job.state import Past, Question
from assistant.job.values import kept
from assistant.job.way import open_steps, steps_of
from assistant.procedure.model import Step
from assistant.torque.ledger import PositionRecord, Standing

QUIETEST, LOUDEST, LOUDNESS_STEP = 0.25, 2.0, 1.25
SLOWEST, FASTEST, PACE_STEP = 0.6, 1.6, 1.15


def on_opened(turn: Turn, _intent: Intent) -> None:
    """Begin a job: what it is, the cautions, and a yes before anything else."""
    procedure = turn.route.procedure
    turn.say("opened", title=procedure.procedure)
    if procedure.demonstration:
        turn.say("opened.demonstration")
    if turn.state.route:
        turn.say("opened.route", name=turn.state.route, count=len(turn.route.steps))
    if doubted := turn.route.doubted:
        turn.say("opened.values", count=len(doubted))
    turn.say("opened.cautions")
    ask_to_begin(turn)


def on_returned(turn: Turn, intent: Intent) -> None:
    """Take a job up again: where it stands, in two sentences, and what was being asked."""
    if turn.state.open_note is not None:
        end_note(turn, float(intent.slots.get("seconds", "0")), "cut off")
        turn.say("note.recovered", number=len(turn.state.notes))
    turn.record(JobTakenUp(who=intent.slots.get("who", "")))
    if turn.state.paused:
        turn.record(Resumed())
    _say_where_things_stand(turn, "returned")
    pending = turn.state.question
    may_offer = pending is None or QUESTIONS[pending.name].standing
    if not (may_offer and offer(turn)):
        _ask_again_to_begin(turn)


def on_pause(turn: Turn, _intent: Intent) -> None:
    """Stop listening for anything but the way back."""
    turn.record(Paused())
    turn.say("paused")


def on_resume(turn: Turn, _intent: Intent) -> None:
    """Come back from a pause, with the same summary as after a crash."""
    if turn.state.paused:
        turn.record(Resumed())
        _say_where_things_stand(turn, "resumed")
        _ask_again_to_begin(turn)
    else:
        turn.say("resume.not-paused")


def _say_where_things_stand(turn: Turn, key: str) -> None:
    """Say how much of the work is done and left: no "of so many", since the numbers of steps count others too."""
    mine = {step.step for step in steps_of(turn.route, turn.state)}
    left = {step.step for step in open_steps(turn.route, turn.state)}
    out = len((mine - left) & turn.state.skipped.keys())
    turn.say(key, done=len(mine) - len(left) - out, left=len(left))
    if out:
        turn.say("stand.left-out", count=out)
    if turn.state.at:
        _say_place(turn, turn.step)


def _ask_again_to_begin(turn: Turn) -> None:
    """Of a job that nobody has begun, say the cautions again: a day later nobody knows what "all that" was."""
    question = turn.state.question
    if question is not None and question.name == "begin":
        ask_to_begin(turn)


def _say_place(turn: Turn, step: Step) -> None:
    named: dict[str, Slot] = {"number": turn.step_number(step.step), "text": step.say}
    if step.action == "tighten" and acts_left(turn, step):
        act = next_act(turn, step)[1]
        turn.say("stand.act", **named, position=act.position, what=what_line(act))
        if done := pass_done(turn, step):
            turn.say("stand.pass", count=len(done))
    else:
        turn.say("stand.step", **named)
    if is_settled(turn, step):
        say_settled(turn, step)
    elif step.step in turn.state.skipped:
        turn.say("step.left-out")


def on_repeat(turn: Turn, _intent: Intent) -> None:
    """Say the last answer again, word for word."""
    if turn.state.last_reply:
        turn.say("verbatim", text=turn.state.last_reply)
    else:
        prompt(turn, turn.step)


def _hangs_on_words(turn: Turn, question: Question) -> bool:
    """Tell whether a question hangs on something said of which nothing was recorded."""
    recorded = bool(turn.state.pasts) and turn.state.pasts[-1].turn == question.turn
    return not QUESTIONS[question.name].standing and not recorded


def on_undo(turn: Turn, intent: Intent) -> None:
    """Take back the last recorded turn, with the question that came of it; one that came of nothing is dropped."""
    question = turn.state.question
    if question is not None and _hangs_on_words(turn, question):
        on_cancel(turn, intent)
    elif not turn.state.pasts:
        turn.say("undo.nothing")
    else:
        _take_back(turn, turn.state.pasts[-1], question.about if question else {})


def _take_back(turn: Turn, past: Past, asked: Mapping[str, str]) -> None:
    """Take a turn back, and say so; what is asked again came of the turn before it."""
    at = turn.step.step
    turn.record(Undone(turn=past.turn))
    turn.tone("recorded")
    what = event_line(turn, past.events)
    if turn.step.step == at or turn.step.action == "do":
        turn.say("undone", what=what)
    else:
        turn.say("undone.at", what=what, number=turn.step_number(turn.step.step))
    _say_still_damaged(turn, past.events[0])
    turn.came_of = turn.state.pasts[-1].turn if turn.state.pasts else None
    if isinstance(past.events[0], PartTold):
        ask_what_to_tell(turn, past.events[0].thing, asked)
    else:
        _say_what_is_wanted_again(turn)
    turn.came_of = None
    if turn.state.helping != turn.step.step:
        release_helper(turn)


def _say_what_is_wanted_again(turn: Turn) -> None:
    """Say what the step wants after something was taken back; shorter, where a helper has to be stopped first."""
    step = turn.step
    if is_settled(turn, step):
        if kept(turn.state, step.step):
            turn.add(value_line(turn, step.step))
        return
    is_helped = turn.state.helping not in {"", step.step}
    if step.action == "do" and step.step not in turn.state.suspect and not is_helped:
        turn.say("step.to-do", number=turn.step_number(step.step))
    prompt(turn, step)


def _say_still_damaged(turn: Turn, event: Event) -> None:
    """Say that a position is damaged all the same, where a later mark or a remedy was taken back."""
    if isinstance(event, PositionMarked | DamageMended):
        record = turn.state.ledger.get((event.group, event.position), PositionRecord())
        if record.standing is Standing.DAMAGED:
            turn.say("position.still", position=event.position, word=marked_as(record))


def on_stop(turn: Turn, intent: Intent) -> None:
    """End the innermost thing that goes on: the voice (which the door ended), the helper, a question, a timer.

    A question that hangs on something said is dropped, as by "cancel"; one of the step itself stays, and is put again.
    """
    question = turn.state.question
    if turn.state.helping:
        turn.record(HelperCalled(step=turn.state.helping, going=False))
        turn.say("helper.stop")
    elif turn.follows == "repeat":
        pass  # it was for the voice, which is to say the same again
    elif question is not None and not QUESTIONS[question.name].standing:
        on_cancel(turn, intent)
    elif waiting.running(turn):
        waiting.on_timer_stop(turn, intent)
    elif question is not None:
        turn.say("stop.asked")
        turn.must_ask = True
    else:
        turn.say("stop.nothing")
        turn.passing = True


def on_quiet(turn: Turn, _intent: Intent) -> None:
    """Fall silent at once."""
    turn.effect("hush")
    turn.tone("heard")


def _bounded(value: float, low: float, high: float) -> float:
    return round(min(max(value, low), high), 3)


def on_voice(turn: Turn, intent: Intent) -> None:
    """Make the voice louder, softer, slower or faster by a step, and say so in the new voice."""
    loudness, pace = turn.state.loudness, turn.state.pace
    steps = {
        "louder": (loudness * LOUDNESS_STEP, pace),
        "softer": (loudness / LOUDNESS_STEP, pace),
        "slower": (loudness, pace / PACE_STEP),
        "faster": (loudness, pace * PACE_STEP),
    }
    new_loudness, new_pace = steps[intent.name]
    turn.record(
        VoiceSet(
            loudness=_bounded(new_loudness, QUIETEST, LOUDEST), pace=_bounded(new_pace, SLOWEST, FASTEST)
        )
    )
    turn.say(f"voice.{intent.name}")
    turn.passing = True


def on_too_long(turn: Turn, _intent: Intent) -> None:
    """Let talk be that is longer than any command."""
    turn.passing = True


HANDLERS = {
    "opened": on_opened,
    "returned": on_returned,
    "pause": on_pause,
    "resume": on_resume,
    "repeat": on_repeat,
    "undo": on_undo,
    "stop": on_stop,
    "quiet": on_quiet,
    "louder": on_voice,
    "softer": on_voice,
    "slower": on_voice,
    "faster": on_voice,
    "too-long": on_too_long,
}
