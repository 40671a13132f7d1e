"""What can be asked, in one table: the words, what the answers do, and which grammar listens for them.

A pending question is part of the job's state: after a crash it is asked again in the same words,
made here from what it is about. A `standing` question belongs to the step itself (a gate, an end
test); the others hang on something just said: "stop" drops them, and "undo" takes back with them what was recorded.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from assistant.dialogue import (
    closing,
    deciding,
    gates,
    going,
    judging,
    kit,
    measuring,
    out_of_turn,
    parts,
    revising,
    skipping,
    tightening,
    valued,
    waiting,
)
from assistant.dialogue.reasons import AGAIN
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import (
    go_to,
    read,
    step_line,
)
from assistant.dialogue.turn import Turn
from assistant.job.events import CautionGiven, CheckAnswered, MeasurementAccepted
from assistant.torque.units import Quantity

About = Mapping[str, str]
Words = Callable[[Turn, About], Line]
Answer = Callable[[Turn, About], None]
Reason = Callable[[Turn, About, str], None]


def _nothing(_turn: Turn, _about: About) -> None:
    """Leave it at that."""


def _dropped(turn: Turn, _about: About) -> None:
    turn.say("cancelled")


def _no_reason(turn: Turn, _about: About, _reason: str) -> None:
    turn.say("answer.not-a-reason")


@dataclass(frozen=True, kw_only=True)
class Question:
    """One question: how it is put, what the answers do, and the grammar that listens for them.

    `takes` are intents that answer this question alone, beside yes, no and a reason; `drop` is what "cancel" does.
    """

    words: Words
    yes: Answer = _nothing
    no: Answer = _nothing
    reason: Reason = _no_reason
    drop: Answer = _dropped
    mode: str = "question"
    standing: bool = False
    takes: frozenset[str] = frozenset()

    @property
    def wants_words(self) -> bool:
        """Tell whether neither yes nor no is an answer, so that "no" can but drop it."""
        return self.yes is _nothing and self.no is _nothing


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


def _test_words(turn: Turn, about: About) -> Line:
    wait = turn.route.step(about["step"]).wait
    return Line("ask.check", {"text": wait.test if wait else ""})


def _test_failed(turn: Turn, about: About) -> None:
    turn.record(CheckAnswered(step=about["step"], passed=False))
    turn.say("wait.not-yet")


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


def _take_whose(turn: Turn, about: About, who: str) -> None:
    """Tell the name back, for it may be misheard, and answer the question that wanted the reason."""
    turn.say("reason.whose", who=who)
    QUESTIONS[about["for"]].reason(turn, about, f"{about['reason']}, {who}")


QUESTIONS: Mapping[str, Question] = {
    "begin": Question(
        words=lambda _turn, _about: Line("ask.begin"),
        yes=_begin,
        no=_not_yet,
        drop=_not_yet,
        mode="start",
        standing=True,
    ),
    "revision": Question(words=revising.revision_line, yes=revising.take, no=revising.leave),
    "caution": Question(
        words=_caution,
        yes=_acknowledged,
        no=lambda turn, _about: turn.say("caution.not-yet"),
        mode="check",
        standing=True,
    ),
    "check": Question(words=gates.check_line, yes=gates.passed, no=gates.failed, mode="check", standing=True),
    "wait-test": Question(words=_test_words, yes=gates.passed, no=_test_failed, mode="check", standing=True),
    "value": Question(
        words=valued.read_back_line,
        yes=_keep_value,
        no=_measure_again,
        mode="value",
        takes=frozenset({"measured"}),
    ),
    "out-of-limits": Question(
        words=valued.out_of_limits_line,
        yes=lambda turn, about: turn.ask("accept-reason", about),
        no=_measure_again,
        mode="value",
        takes=frozenset({"measured", "reading"}),
    ),
    "accept-reason": Question(
        words=lambda _turn, _about: Line("ask.reason"), reason=_accept_reason, mode="reason"
    ),
    "out-of-order": Question(
        words=out_of_turn.order_line, yes=out_of_turn.work_out_of_order, no=out_of_turn.leave_out_of_order
    ),
    "final": Question(
        words=tightening.final_line,
        yes=tightening.work_final,
        no=lambda turn, _about: tightening.read_act(turn, turn.step),
    ),
    "clicked": Question(
        words=tightening.clicked_line,
        yes=tightening.work_clicked,
        no=lambda turn, _about: turn.say("clicked.not"),
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
        drop=judging.leave_damaged,
        mode="remedy",
    ),
    "told": Question(words=parts.told_line, reason=parts.take_told, mode="told"),
    "no-place": Question(
        words=parts.no_place_line,
        yes=parts.off_without_place,
        no=lambda turn, _about: turn.say("part.say-place"),
        reason=parts.take_place,
        mode="place",
        takes=frozenset({"off", "put"}),
    ),
    "applied": Question(
        words=kit.applied_line,
        yes=kit.applied_after_all,
        no=kit.not_applied,
    ),
    "reuse": Question(words=kit.reuse_line, reason=kit.reuse, mode="reason"),
    "cut-short": Question(
        words=waiting.cut_short_line,
        yes=lambda turn, about: turn.ask("cut-short-reason", about),
        no=lambda turn, _about: turn.say("timer.goes-on"),
        drop=lambda turn, _about: turn.say("timer.goes-on"),
    ),
    "cut-short-reason": Question(
        words=lambda _turn, _about: Line("ask.reason"),
        reason=lambda turn, about, reason: waiting.cut_short(turn, about["step"], reason),
        drop=lambda turn, _about: turn.say("timer.goes-on"),
        mode="reason",
    ),
    "decide": Question(
        words=deciding.decide_line,
        yes=lambda turn, about: deciding.decide(turn, about, yes=True),
        no=lambda turn, about: deciding.decide(turn, about, yes=False),
        mode="check",
        standing=True,
    ),
    "seen-by": Question(words=lambda _turn, _about: Line("ask.seen-by"), reason=gates.seen, mode="person"),
    "before": Question(
        words=going.before_line,
        yes=lambda turn, about: turn.ask("before-reason", about),
        no=lambda turn, about: go_to(turn, turn.route.step(about["missing"])),
    ),
    "before-reason": Question(
        words=lambda _turn, _about: Line("ask.reason"), reason=going.work_before, mode="reason"
    ),
    "loosen": Question(
        words=going.loosen_line,
        yes=lambda turn, about: going.loosen(turn, about, yes=True),
        no=lambda turn, about: going.loosen(turn, about, yes=False),
    ),
    "suspect": Question(
        words=going.suspect_line, yes=going.still_good, no=going.not_good, mode="check", standing=True
    ),
    "skip-reason": Question(
        words=lambda turn, about: Line("ask.skip-reason", {"step": step_line(turn, about["step"])}),
        reason=lambda turn, about, reason: turn.ask("skip", {**about, "reason": reason}),
        mode="reason",
    ),
    "who": Question(
        words=lambda _turn, _about: Line("ask.who"),
        reason=_take_whose,
        mode="person",
    ),
    "skip": Question(
        words=skipping.skip_line, yes=skipping.leave_out, no=lambda turn, _about: turn.say("skip.not")
    ),
    "close-open": Question(
        words=lambda turn, _about: closing.open_line(turn),
        yes=lambda turn, about: turn.ask("close-reason", about),
        no=lambda turn, _about: closing.back_to_work(turn),
        reason=closing.accept,
        mode="close",
    ),
    "close-reason": Question(
        words=lambda _turn, _about: Line("ask.reason"), reason=closing.accept, mode="reason"
    ),
    "close": Question(
        words=lambda turn, _about: closing.close_line(turn),
        yes=lambda turn, _about: closing.close(turn),
        no=lambda turn, _about: turn.say("close.not"),
    ),
}


DEPARTURES: Final = frozenset(
    {
        "skip-reason",
        "accept-reason",
        "reuse",
        "cut-short-reason",
        "before-reason",
        "close-open",
        "close-reason",
    }
)
"""Questions for the reason of a departure: of one made on instruction, whose it was is asked next."""


def question_line(turn: Turn, *, new: bool) -> Line | None:
    """Give the words of the pending question, `new` or put again, or None where nothing is asked."""
    question = turn.state.question
    if question is None:
        return None
    words = QUESTIONS[question.name].words
    return (words if new else AGAIN.get(question.name, words))(turn, question.about)
