"""What can be asked, in one table: the words, what the answers do, and which grammar listens for them.

A pending question is part of the job's state: after a crash it is asked again in the same words,
made here from what it is about. A `standing` question belongs to the step itself (a gate, an end
test); the others hang on something just said, and "undo" only drops them.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from assistant.dialogue import closing, counting, judging, measuring, tightening, waiting
from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import DONE, READERS, complete, go_to, next_open, owns, read, step_line
from assistant.dialogue.turn import Turn
from assistant.job.events import CautionGiven, CheckAnswered, MeasurementAccepted, StepSkipped
from assistant.procedure.model import Step
from assistant.torque.units import Quantity

About = Mapping[str, str]
Words = Callable[[Turn, About], Line]
Answer = Callable[[Turn, About], None]
Reason = Callable[[Turn, About, str], None]


def _nothing(_turn: Turn, _about: About) -> None:
    """Leave it at that."""


def _no_reason(turn: Turn, _about: About, _reason: str) -> None:
    turn.say("answer.not-a-reason")


@dataclass(frozen=True, kw_only=True)
class Question:
    """One question: how it is put, what the answers do, and the grammar that listens for them.

    `takes` are intents that answer this question alone, beside yes, no and a reason.
    """

    words: Words
    yes: Answer = _nothing
    no: Answer = _nothing
    reason: Reason = _no_reason
    mode: str = "question"
    standing: bool = False
    takes: frozenset[str] = frozenset()


def _caution(turn: Turn, about: About) -> Line:
    caution = turn.route.step(about["step"]).caution
    return Line("ask.caution", {"text": caution.say if caution else ""})


def _begin(turn: Turn, _about: About) -> None:
    turn.record(CautionGiven(step="", acknowledged=True))
    go_to(turn, turn.route.steps[0])


def _not_yet(turn: Turn, about: About) -> None:
    turn.say("begin.not-yet")
    turn.ask("begin", about)


def _acknowledged(turn: Turn, about: About) -> None:
    turn.record(CautionGiven(step=about["step"], acknowledged=True))
    read(turn, turn.route.step(about["step"]))


def _check_words(turn: Turn, about: About) -> Line:
    check = turn.route.step(about["step"]).check
    return Line("ask.check", {"text": check.ask if check else ""})


def _check_passed(turn: Turn, about: About) -> None:
    turn.record(CheckAnswered(step=about["step"], passed=True))
    complete(turn, turn.route.step(about["step"]))


def _check_failed(turn: Turn, about: About) -> None:
    check = turn.route.step(about["step"]).check
    turn.record(CheckAnswered(step=about["step"], passed=False))
    turn.say("check.failed", text=check.if_not if check else "")


def _test_words(turn: Turn, about: About) -> Line:
    wait = turn.route.step(about["step"]).wait
    return Line("ask.check", {"text": wait.test if wait else ""})


def _test_failed(turn: Turn, about: About) -> None:
    turn.record(CheckAnswered(step=about["step"], passed=False))
    turn.say("wait.not-yet")


def _value_words(_turn: Turn, about: About) -> Line:
    return Line("ask.value", {"value": Quantity.model_validate(about["value"])})


def _keep_value(turn: Turn, about: About) -> None:
    measuring.keep(turn, Quantity.model_validate(about["value"]))


def _measure_again(turn: Turn, _about: About) -> None:
    if turn.step.measure is not None:
        turn.say("measure.again")
    else:
        turn.say("value.look-again")


def _accept_reason(turn: Turn, about: About, reason: str) -> None:
    turn.record(MeasurementAccepted(step=about["step"], reason=reason))
    measuring.finish(turn, turn.route.step(about["step"]))


def _order_words(_turn: Turn, about: About) -> Line:
    return Line("ask.out-of-order", {"position": int(about["position"]), "expected": int(about["expected"])})


def _skip_words(turn: Turn, about: About) -> Line:
    return Line("ask.skip", {"number": turn.step_number(about["step"]), "reason": about["reason"]})


def _skip(turn: Turn, about: About) -> None:
    counting.leave_pass(turn, turn.route.step(about["step"]))
    turn.record(StepSkipped(step=about["step"], reason=about["reason"]))
    turn.tone("recorded")
    turn.say("step.skipped", number=turn.step_number(about["step"]))
    if next_open(turn) is None:
        turn.say("steps.all-done")


QUESTIONS: Mapping[str, Question] = {
    "begin": Question(
        words=lambda _turn, _about: Line("ask.begin"),
        yes=_begin,
        no=_not_yet,
        mode="start",
        standing=True,
    ),
    "caution": Question(
        words=_caution,
        yes=_acknowledged,
        no=lambda turn, _about: turn.say("caution.not-yet"),
        mode="check",
        standing=True,
    ),
    "check": Question(words=_check_words, yes=_check_passed, no=_check_failed, mode="check", standing=True),
    "wait-test": Question(words=_test_words, yes=_check_passed, no=_test_failed, mode="check", standing=True),
    "value": Question(
        words=_value_words,
        yes=_keep_value,
        no=_measure_again,
        mode="value",
        takes=frozenset({"measured"}),
    ),
    "out-of-limits": Question(
        words=lambda turn, about: measuring.out_of_limits_line(turn, about["step"]),
        yes=lambda turn, about: turn.ask("accept-reason", about),
        no=_measure_again,
        mode="value",
        takes=frozenset({"measured", "reading"}),
    ),
    "accept-reason": Question(
        words=lambda _turn, _about: Line("ask.reason"), reason=_accept_reason, mode="reason"
    ),
    "out-of-order": Question(
        words=_order_words,
        yes=lambda turn, about: tightening.work_out_of_order(turn, int(about["number"])),
        no=lambda turn, _about: tightening.read_act(turn, turn.step),
    ),
    "all-done": Question(
        words=lambda turn, _about: tightening.all_done_line(turn),
        yes=lambda turn, _about: tightening.work_stage(turn),
        no=lambda turn, _about: tightening.read_act(turn, turn.step),
    ),
    "sound": Question(
        words=lambda _turn, about: Line("ask.sound", {"position": int(about["position"])}),
        yes=lambda turn, about: judging.mark(turn, int(about["position"]), "sound"),
        no=lambda turn, _about: tightening.read_act(turn, turn.step),
    ),
    "remedy": Question(
        words=lambda _turn, about: Line("ask.remedy", {"position": int(about["position"])}),
        reason=judging.mend,
        mode="remedy",
    ),
    "cut-short": Question(
        words=lambda turn, about: Line(
            "ask.cut-short", {"left": waiting.left(turn, turn.state.timers[about["step"]])}
        ),
        yes=lambda turn, about: waiting.cut_short(turn, about["step"]),
        no=lambda turn, _about: turn.say("timer.goes-on"),
    ),
    "skip-reason": Question(
        words=lambda turn, about: Line("ask.skip-reason", {"step": step_line(turn, about["step"])}),
        reason=lambda turn, about, reason: turn.ask("skip", {**about, "reason": reason}),
        mode="reason",
    ),
    "skip": Question(words=_skip_words, yes=_skip, no=lambda turn, _about: turn.say("skip.not")),
    "close": Question(
        words=lambda turn, _about: closing.close_line(turn), yes=closing.close_or_ask, no=closing.back_to_work
    ),
    "close-reason": Question(
        words=lambda _turn, _about: Line("ask.reason"), reason=closing.close_with_reason, mode="reason"
    ),
}


def question_line(turn: Turn) -> Line | None:
    """Give the words of the pending question, or None where nothing is asked."""
    question = turn.state.question
    return QUESTIONS[question.name].words(turn, question.about) if question else None


def on_answer(turn: Turn, intent: Intent) -> None:
    """Take a yes or a no to the pending question."""
    question = turn.state.question
    if question is None:
        turn.say("answer.to-nothing")
        return
    turn.close_question(intent.name)
    answers = QUESTIONS[question.name]
    (answers.yes if intent.name == "yes" else answers.no)(turn, question.about)


def on_reason(turn: Turn, intent: Intent) -> None:
    """Take a reason to the pending question."""
    question = turn.state.question
    if question is None:
        turn.say("answer.to-nothing")
        return
    turn.close_question(intent.slots["reason"])
    QUESTIONS[question.name].reason(turn, question.about, intent.slots["reason"])


def on_cancel(turn: Turn, _intent: Intent) -> None:
    """Drop the pending question; what it hung on is not done."""
    if turn.state.question is None:
        turn.say("answer.to-nothing")
    elif turn.state.question.name == "begin":
        _not_yet(turn, turn.state.question.about)
    else:
        turn.close_question("cancel")
        turn.say("cancelled")


def on_skip(turn: Turn, _intent: Intent) -> None:
    """Ask why a step is to be left out; a gate cannot be."""
    step = turn.step
    if step.check is not None:
        turn.say("skip.gate")
        READERS["check"](turn, step)
    elif step.step in turn.state.done:
        turn.say("step.already", number=turn.step_number(step.step))
    else:
        turn.ask("skip-reason", {"step": step.step})


@owns(READERS, "check")
def _read_check(turn: Turn, step: Step) -> None:
    turn.ask("check", {"step": step.step})


@owns(DONE, "check")
def _done_check(turn: Turn, step: Step) -> None:
    turn.ask("check", {"step": step.step})


HANDLERS = {
    "yes": on_answer,
    "no": on_answer,
    "reason": on_reason,
    "cancel": on_cancel,
    "skip": on_skip,
}
