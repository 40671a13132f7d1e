"""Where a part or a tool is, as far as anybody has said: one table of what is known, the surest first.

What nobody has said is told as that, so that no part of the procedure is ever answered with silence.
"""

from collections.abc import Callable
from typing import Final

from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.supplies import came_off_before, laid_line
from assistant.dialogue.turn import Turn
from assistant.job.things import is_label

Known = Callable[[Turn, str], Line | None]


def where_line(turn: Turn, thing: str) -> Line:
    """Say where a thing is, or that it was never put anywhere."""
    found = (known(turn, thing) for known in KNOWN)
    return next(filter(None, found), Line("part.not-off", {"what": thing}))


def _off(turn: Turn, thing: str) -> Line | None:
    return laid_line(thing, turn.state.off[thing]) if thing in turn.state.off else None


def _back(turn: Turn, thing: str) -> Line | None:
    return Line("part.is-back", {"what": thing}) if thing in turn.state.returned else None


def _label(_turn: Turn, thing: str) -> Line | None:
    return Line("label.none", {"what": thing}) if is_label(thing) else None


def _tool(turn: Turn, thing: str) -> Line | None:
    if thing not in turn.route.procedure.tools:
        return None
    inside = turn.state.inside.get(thing, 0)
    return Line("tool.inside" if inside else "tool.out", {"what": thing, "count": inside})


def _off_before(turn: Turn, thing: str) -> Line | None:
    return Line("part.off-before", {"what": thing}) if thing in came_off_before(turn) else None


def _of_the_kit(turn: Turn, thing: str) -> Line | None:
    """Say how many of a part of the kit count as fitted, and how many old ones were used again instead."""
    fitted = turn.state.parts.get(thing, 0)
    again = sum(event.part == thing for event in turn.state.reused)
    if fitted or again:
        anew = [_fitted_line(fitted, turn.route.procedure.parts[thing].count)] if fitted else []
        old = [Line("kit.again", {"count": again})] if again else []
        return Line("kit.counted", {"what": thing, "counts": (*anew, *old)})
    used = any(thing in step.use for step in turn.route.procedure.steps)
    return Line("kit.untouched", {"what": thing}) if used else None


def _fitted_line(fitted: int, total: int) -> Line:
    counts: dict[str, Slot] = {"count": fitted, "total": total}
    return Line("kit.fitted-beyond", counts) if fitted > total else Line("kit.fitted", counts)


KNOWN: Final[tuple[Known, ...]] = (_off, _back, _label, _tool, _off_before, _of_the_kit)
"""What may be known of where a thing is, in the order in which it is looked for."""
