"""Which words make sense now: the name of the grammar that is active, from the state alone."""

from typing import Final

from assistant.dialogue.questions import QUESTIONS
from assistant.job.state import JobState
from assistant.procedure.route import Route

BY_ACTION: Final = {
    "do": "step",
    "tighten": "tighten",
    "measure": "measure",
    "work_out": "step",
    "wait": "wait",
    "check": "step",
    "decide": "step",
}
"""The grammar for each kind of step, where nothing else is going on."""


def mode_of(route: Route, state: JobState) -> str:
    """Name the active grammar: of the note being recorded or played, the pause, the question, or the step."""
    if state.open_note is not None:
        return "note"
    if state.listing is not None and state.question is None:
        return "played"
    if state.paused:
        return "paused"
    if state.question is not None:
        return QUESTIONS[state.question.name].mode
    return BY_ACTION[route.step(state.at or route.steps[0].step).action]
