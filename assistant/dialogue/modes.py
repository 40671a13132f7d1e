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


PLAYED_OVER: Final = frozenset({*BY_ACTION.values(), "check"})
"""What goes on being listened for while notes are played: whoever hears one has the work in hand."""


def mode_of(route: Route, state: JobState) -> str:
    """Name the active grammar: of the note being recorded or played, the pause, the question, or the step."""
    return modes_of(route, state)[0]


def modes_of(route: Route, state: JobState) -> tuple[str, ...]:
    """Name all grammars that are active, the one that counts first; there are two while notes are played."""
    below = _below(route, state)
    if state.listing is None or state.open_note is not None:
        return (below,)
    if below in PLAYED_OVER:
        return "played", below
    return (below,) if state.question is not None else ("played",)


def _below(route: Route, state: JobState) -> str:
    """Name the grammar that is active where no notes are played."""
    if state.open_note is not None:
        return "note"
    if state.paused:
        return "paused"
    if state.question is not None:
        return QUESTIONS[state.question.name].mode
    return BY_ACTION[route.step(state.at or route.steps[0].step).action]
