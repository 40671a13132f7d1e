"""Whether a job can go on with a newer text of its procedure: all that it was worked on has to be in it.

The text that a job was started with stays in its folder; a newer one that was taken stands in the journal,
in the event that says so, so that the two can never disagree.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, Final

from assistant.job.events import Entry, RevisionAnswered
from assistant.procedure.route import Route


def text_in_force(entries: Iterable[Entry], started: str) -> str:
    """Give the text that a job is worked by: the last that was taken, else the one it was started with."""
    taken = [each.event for each in entries if isinstance(each.event, RevisionAnswered) and each.event.taken]
    return taken[-1].text if taken else started


def newer_by(route: Route, event: object) -> Route:
    """Give the route after an event: the newer one where that was taken, else the same."""
    taken = isinstance(event, RevisionAnswered) and event.taken
    return route.newer.route if taken and route.newer else route


def lost(entries: Iterable[Entry], old: Route, new: Route) -> tuple[str | int, ...]:
    """Name what was worked on and is not in the newer text, or not so, each once; a step by its old number."""
    named = dict.fromkeys(name for entry in entries for name in _named(entry.event))
    return tuple(dict.fromkeys(said for key, name in named if (said := _GONE[key](old, new, name))))


def _named(event: Any) -> Iterator[tuple[str, str]]:
    """Give each name of the procedure that an event holds, with what it is the name of."""
    for key in type(event).model_fields:
        value = getattr(event, key)
        what = _SAME.get(key, key)
        if what in _GONE and value:
            yield from ((what, name) for name in ([value] if isinstance(value, str) else value))


_SAME: Final[Mapping[str, str]] = {"missing": "step", "suspect": "step"}


def _step(old: Route, new: Route, name: str) -> str | int:
    before = next((step for step in old.steps if step.step == name), None)
    after = next((step for step in new.steps if step.step == name), None)
    if before is None or (after is not None and before.action == after.action):
        return ""
    return old.place(name) + 1


def _group(old: Route, new: Route, name: str) -> str:
    same = new.plans.get(name) == old.plans.get(name)
    return "" if same or name not in old.procedure.groups else old.procedure.groups[name].spoken


def _decision(_old: Route, new: Route, name: str) -> str:
    return "" if any(step.decide and step.decide.name == name for step in new.steps) else name


_GONE: Final[Mapping[str, Callable[[Route, Route, str], str | int]]] = {
    "step": _step,
    "group": _group,
    "decision": _decision,
    "part": lambda _old, new, name: "" if name in new.procedure.parts else name,
    "tool": lambda _old, new, name: "" if name in new.procedure.tools else name,
}
"""What is said of a name that the newer text no longer has, by what it names; "" where all is well."""
