"""Answers to the pending question: yes, no, a reason, or dropping it; and what was to follow after them."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Final

from assistant.dialogue import going, noting, skipping
from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import words_for
from assistant.dialogue.questions import DEPARTURES, QUESTIONS
from assistant.dialogue.turn import Handler, Turn

AFTER_WHAT_COMES_FIRST: Final = frozenset({"check", "decide", "wait-test", "suspect"})
"""Questions whose answer counts only where everything that the step rests on was dealt with."""

SPOKEN: Final = "other reason"
"""The reason that is said in one's own words: a note, which begins at once."""


def on_answer(turn: Turn, intent: Intent) -> None:
    """Take a yes or a no to the pending question; where it asks for words of its own, a no drops it."""
    question = turn.state.question
    if question is None:
        turn.say("answer.to-nothing")
        return
    if intent.name == "no" and QUESTIONS[question.name].wants_words:
        on_cancel(turn, intent)
        return
    turn.close_question(intent.name)
    if question.name in AFTER_WHAT_COMES_FIRST and going.held_back(turn):
        return
    answers = QUESTIONS[question.name]
    with _what_was_to_follow(turn, question.about, refused=intent.name == "no"):
        (answers.yes if intent.name == "yes" else answers.no)(turn, question.about)


def on_reason(turn: Turn, intent: Intent) -> None:
    """Take a reason to the pending question."""
    question = turn.state.question
    if question is None:
        turn.say("answer.to-nothing")
        return
    reason = intent.slots["reason"]
    if reason == SPOKEN:
        noting.begin(turn, "reason", {})
        return
    turn.close_question(reason)
    with _what_was_to_follow(turn, question.about):
        if question.name in DEPARTURES and skipping.is_anothers(turn, reason):
            turn.ask("who", {**question.about, "for": question.name, "reason": reason})
        else:
            QUESTIONS[question.name].reason(turn, question.about, reason)


def on_note_end(turn: Turn, intent: Intent) -> None:
    """End the note that is being recorded; one that gives a reason answers the question that it was asked for."""
    _after_note(turn, intent, noting.on_note_end)


def on_note_over(turn: Turn, intent: Intent) -> None:
    """Do the same where silence ended the note."""
    _after_note(turn, intent, noting.on_note_over)


def _after_note(turn: Turn, intent: Intent, end: Handler) -> None:
    note = turn.state.open_note
    end(turn, intent)
    if note is not None and note.matter == "reason" and turn.state.question is not None:
        on_reason(turn, Intent(name="reason", slots={"reason": f"as said in note {words_for(note.number)}"}))


@contextmanager
def _what_was_to_follow(turn: Turn, about: Mapping[str, str], *, refused: bool = False) -> Iterator[None]:
    """Go on after an answer with what was said in one breath before the question; not if the step stays undone.

    Another question keeps it once more. A "next" that is said now goes before one that was said then.
    """
    said_now, done_before = turn.then, turn.step.step in turn.state.done
    turn.then = said_now or about.get("then", "")
    yield
    done = turn.step.step in turn.state.done and not (refused and done_before)
    if turn.then and not said_now and done and turn.state.question is None:
        going.on_next(turn, Intent(name=turn.then))
    turn.then = said_now


def on_cancel(turn: Turn, _intent: Intent) -> None:
    """Drop the pending question; what it hung on is not done."""
    question = turn.state.question
    if question is None:
        turn.say("answer.to-nothing")
        return
    turn.close_question("cancel")
    QUESTIONS[question.name].drop(turn, question.about)


HANDLERS = {
    "yes": on_answer,
    "no": on_answer,
    "reason": on_reason,
    "cancel": on_cancel,
    "note-end": on_note_end,
    "note-over": on_note_over,
}
