"""Questions for a reason that lean on what was said just before: their words where they are put again later."""

from collections.abc import Callable, Mapping
from typing import Final

from assistant.dialogue import closing
from assistant.dialogue.reply import Line
from assistant.dialogue.turn import Turn

About = Mapping[str, str]

AGAIN: Final[Mapping[str, Callable[[Turn, About], Line]]] = {
    "accept-reason": lambda turn, about: Line(
        "ask.accept-reason", {"number": turn.step_number(about["step"])}
    ),
    "before-reason": lambda turn, about: Line(
        "ask.before-reason",
        {"number": turn.step_number(about["step"]), "missing": turn.step_number(about["missing"])},
    ),
    "cut-short-reason": lambda turn, about: Line(
        "ask.cut-short-reason", {"number": turn.step_number(about["step"])}
    ),
    "close-reason": lambda turn, _about: closing.reason_line(turn),
}
"""What each is the reason for, by its question."""
