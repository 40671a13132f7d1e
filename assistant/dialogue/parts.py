"""Parts that come off: where they lie, the way round, and labels for those that the procedure does not name."""

from collections.abc import Mapping
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.names import machine_parts, name_in, placed
from assistant.dialogue.noting import begin
from assistant.dialogue.playing import content
from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.steps import go_on, is_open
from assistant.dialogue.supplies import came_off_before, laid_line, place_words, untold
from assistant.dialogue.turn import Turn
from assistant.dialogue.whereabouts import where_line
from assistant.job.events import (
    Asked,
    LabelGiven,
    PartPlaced,
    PartRemoved,
    PartReturned,
    PartTold,
)
from assistant.job.things import LOOSE, is_label, is_loose, loose_in

About = Mapping[str, str]
NOT_KNOWN: Final = "not known"
"""The answer, in the words of the grammar, to what nobody noticed when a part came off."""


def _thing(turn: Turn, intent: Intent) -> str:
    return name_in(machine_parts(turn.route), intent.slots["thing"])


def on_off(turn: Turn, intent: Intent) -> None:
    """Record that a part came off, and where it was laid, if that was said."""
    thing, place = _thing(turn, intent), intent.slots.get("spot", "")
    if place:
        _lay(turn, thing, place, _place_asked(turn))
    elif thing in turn.state.off:
        turn.say("part.off-already", what=laid_line(thing, turn.state.off[thing]))
    else:
        turn.record(PartRemoved(thing=thing, step=turn.step.step))
        turn.tone("recorded")
        turn.say("part.off", what=thing)
        ask_what_to_tell(turn, thing, {})


def on_put(turn: Turn, intent: Intent) -> None:
    """Record where a part lies; one that was not off until now came off."""
    thing, place = _thing(turn, intent), intent.slots["spot"]
    _lay(turn, loose_in(place) if thing == LOOSE else thing, place, _place_asked(turn))


def _place_asked(turn: Turn) -> About:
    """Give what the question for a place is about, and take it as answered; nothing where none is pending."""
    question = turn.state.question
    if question is None:
        return {}
    turn.close_question("place")
    return question.about


def _lay(turn: Turn, thing: str, place: str, asked: About) -> None:
    """Record where a part lies; where its step was said to be done before, go on with that."""
    others = tuple(other for other, laid in turn.state.off.items() if laid.place == place and other != thing)
    if thing in turn.state.off:
        turn.record(PartPlaced(thing=thing, step=turn.step.step, place=place))
    else:
        turn.record(PartRemoved(thing=thing, step=turn.step.step, place=place))
    turn.tone("recorded")
    turn.say("part.lies", what=LOOSE if is_loose(thing) else thing, where=place_words(place))
    if shared := tuple(other for other in others if not is_loose(other)):
        turn.say("part.shared", others=shared, count=len(shared))
    if is_label(thing) and thing not in turn.state.labels:
        turn.say("label.undescribed", what=thing)
    ask_what_to_tell(turn, thing, asked)


def ask_what_to_tell(turn: Turn, thing: str, asked: About) -> None:
    """Ask what else is wanted of a part; where "done" asked for it and nothing is left, go on with its step."""
    done = {"done": "yes"} if "done" in asked else {}
    if field := untold(turn, thing):
        turn.ask("told", {"step": turn.step.step, "thing": thing, "field": field, **done})
    elif done:
        go_on(turn, turn.route.step(asked["step"]))


def told_line(turn: Turn, about: About) -> Line:
    """Ask for the mark or the way round, in the author's words; of which part, where it was not just said."""
    question = turn.route.procedure.parts[about["thing"]].questions[about["field"]]
    just_asked = any(isinstance(event, Asked) for event in turn.events)
    if "named" in about or not just_asked:
        return Line("ask.told-of", {"what": about["thing"], "text": question.ask})
    return Line("ask.told", {"text": question.ask})


def answers_to_told(turn: Turn, about: About) -> tuple[str, ...]:
    """Give the answers that the author lists, and the one for what nobody noticed when the part came off."""
    return (*turn.route.procedure.parts[about["thing"]].questions[about["field"]].answers, NOT_KNOWN)


def take_told(turn: Turn, about: About, answer: str) -> None:
    """Record the mark or the way round of a part; an answer to another part's question is asked for again."""
    thing = about["thing"]
    answers = answers_to_told(turn, about)
    named = name_in(answers, answer)
    if named not in answers:
        turn.say("answer.one-of", answers=answers)
        turn.ask("told", about)
        return
    told = {"thing": thing, "step": turn.step.step, "about": about["field"], "answer": named}
    turn.record(PartTold.model_validate(told))
    turn.tone("recorded")
    if named == NOT_KNOWN:
        turn.say("part.not-known")
    else:
        turn.say("part.told", answer=named)
    ask_what_to_tell(turn, thing, about)


def no_place_line(_turn: Turn, about: About) -> Line:
    """Ask whether to go on although it was not said where a part lies."""
    return Line("ask.no-place", {"what": about["thing"]})


def take_place(turn: Turn, about: About, place: str) -> None:
    """Record the place that was asked for, and go on with the step."""
    _lay(turn, about["thing"], place, about)


def off_without_place(turn: Turn, about: About) -> None:
    """Record that a part is off, wherever it lies, and go on with the step."""
    turn.record(PartRemoved(thing=about["thing"], step=about["step"]))
    go_on(turn, turn.route.step(about["step"]))


def on_put_back(turn: Turn, intent: Intent) -> None:
    """Record that a part is back where it came from, also where nobody told that it was off; say what is still off."""
    thing = _thing(turn, intent)
    laid = turn.state.off.get(thing)
    if thing in turn.state.returned or (laid is None and is_label(thing)):
        turn.add(where_line(turn, thing))
        return
    untold = laid is None and thing not in came_off_before(turn)
    if untold and (step := _still_takes_off(turn, thing)):
        turn.say("part.comes-off", what=thing, number=turn.step_number(step))
        return
    turn.record(PartReturned(thing=thing, step=turn.step.step, untold=untold))
    turn.tone("recorded")
    _say_back(turn, thing, tuple(laid.told.values()) if laid else (), untold=untold)


def _still_takes_off(turn: Turn, thing: str) -> str:
    """Name the step that is still to take a part off; "" where none is."""
    return next(
        (step.step for step in turn.route.steps if thing in step.take_off and is_open(turn, step)), ""
    )


def _say_back(turn: Turn, thing: str, told: tuple[Slot, ...], *, untold: bool) -> None:
    if told:
        turn.say("part.back-so", what=thing, told=told)
    elif untold:
        turn.say("part.back-untold", what=thing)
    else:
        turn.say("part.back", what=thing)
    if turn.state.off:
        turn.say("part.still-off", count=len(turn.state.off))
    elif not untold and not came_off_before(turn) - turn.state.returned:
        turn.say("part.none-off")


def on_where_is(turn: Turn, intent: Intent) -> None:
    """Say where a part lies, and which way round it was; of one that nobody spoke of, that."""
    turn.add(where_line(turn, name_in(placed(turn.route), intent.slots["thing"])))


def on_label(turn: Turn, intent: Intent) -> None:
    """Give a label, and begin the note that describes what it is on; only a tone answers."""
    label = intent.slots["thing"]
    if label in turn.state.labels:
        turn.say("label.taken", what=label)
        return
    turn.record(LabelGiven(label=label, step=turn.step.step, note=len(turn.state.notes) + 1))
    begin(turn, "note", {"label": label})


def on_what_is(turn: Turn, intent: Intent) -> None:
    """Play the note that describes what a label is on."""
    label = intent.slots["thing"]
    notes = [note for note in turn.state.notes if note.label == label and note.seconds is not None]
    if label in turn.state.labels and notes:
        turn.say("label.is", what=label)
        turn.add(content(notes[-1]))
    elif label in turn.state.off:
        turn.say("label.undescribed", what=label)
    else:
        turn.say("label.none", what=label)


HANDLERS = {
    "off": on_off,
    "put": on_put,
    "put-back": on_put_back,
    "where-is": on_where_is,
    "label": on_label,
    "what-is": on_what_is,
}
