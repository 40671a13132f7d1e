"""A second account of what is open in a job: slow, obvious, and without the code that it is held against.

It goes through the entries that were not taken back, one by one, and keeps plain dicts and sets. What a position's
state becomes is told here once more, in its own words: how far it came in its plan, and what was said against it.
"""

from collections.abc import Sequence

from assistant.job.events import Entry, Undone
from assistant.procedure.route import Route


def account(route: Route, entries: Sequence[Entry]) -> set[tuple[str, ...]]:
    """List what is open, as tuples of words: kind, and what it is about."""
    book = _Book(route)
    taken_back = _taken_back(entries)
    for entry in entries:
        if entry.turn not in taken_back:
            book.enter(entry.event)
    return book.open()


def _taken_back(entries: Sequence[Entry]) -> set[int]:
    """Give the turns that do not count: those taken back, each `undo` the last one that still stands."""
    return {entry.event.turn for entry in entries if isinstance(entry.event, Undone)}


class _Book:
    """What is known so far, in plain words."""

    def __init__(self, route: Route) -> None:
        self.route = route
        self.done: set[str] = set()
        self.left_out: set[str] = set()
        self.suspect: set[str] = set()
        self.decided: dict[str, bool] = {}
        self.inside: dict[str, int] = {}
        self.fitted: dict[str, int] = {}
        self.bad_value: set[str] = set()
        self.cut_short: set[str] = set()
        self.stage: dict[tuple[str, int], int] = {}
        self.final: set[tuple[str, int]] = set()
        self.wrong: dict[tuple[str, int], tuple[str, int]] = {}
        self.closing = False
        self.unread: set[str] = set()

    def enter(self, event: object) -> None:
        """Take one event in."""
        kind = getattr(event, "kind", "").replace("-", "_")
        method = getattr(self, f"_{kind}", None)
        if method is not None:
            method(event)

    def _decision_taken(self, event: object) -> None:
        self.decided[event.decision] = event.yes  # type: ignore[attr-defined]

    def _step_done(self, event: object) -> None:
        name = event.step  # type: ignore[attr-defined]
        self.done.add(name)
        self.left_out.discard(name)
        self.suspect.discard(name)

    def _step_skipped(self, event: object) -> None:
        name = event.step  # type: ignore[attr-defined]
        self.left_out.add(name)
        self.done.discard(name)
        self.suspect.discard(name)

    def _step_reopened(self, event: object) -> None:
        name, suspect = event.step, event.suspect  # type: ignore[attr-defined]
        for names in (self.done, self.left_out, self.suspect, self.bad_value, self.cut_short, self.unread):
            names.discard(name)
        self.suspect |= set(suspect)

    def _suspect_cleared(self, event: object) -> None:
        self.suspect.discard(event.step)  # type: ignore[attr-defined]

    def _close_out_passed(self, _event: object) -> None:
        self.closing = True

    def _tool_moved(self, event: object) -> None:
        tool, way = event.tool, 1 if event.inside else -1  # type: ignore[attr-defined]
        self.inside[tool] = max(0, self.inside.get(tool, 0) + way)

    def _part_used(self, event: object) -> None:
        name = event.part  # type: ignore[attr-defined]
        self.fitted[name] = self.fitted.get(name, 0) + 1

    def _measured(self, event: object) -> None:
        step, verdict = event.step, event.verdict  # type: ignore[attr-defined]
        (self.bad_value.discard if verdict == "in" else self.bad_value.add)(step)
        self.unread.discard(step)

    def _readings_reopened(self, event: object) -> None:
        self.unread.add(event.step)  # type: ignore[attr-defined]

    def _reading_taken(self, event: object) -> None:
        self.unread.add(event.step)  # type: ignore[attr-defined]

    def _measurement_accepted(self, event: object) -> None:
        self.bad_value.discard(event.step)  # type: ignore[attr-defined]

    def _timer_started(self, event: object) -> None:
        self.cut_short.discard(event.step)  # type: ignore[attr-defined]

    def _timer_stopped(self, event: object) -> None:
        self.cut_short.add(event.step)  # type: ignore[attr-defined]

    def _position_worked(self, event: object) -> None:
        act, group, in_order = event.act, event.group, event.in_order  # type: ignore[attr-defined]
        place = (group, act.position)
        wrong = self.wrong.get(place)
        if wrong and wrong[0] == "damaged":
            return
        if act.kind == "back-off":
            self.final.discard(place)
            self.stage[place] = act.stage
            self.wrong[place] = wrong if wrong and wrong[0] == "marked" else ("back-off", act.stage)
            return
        if (place in self.final and not wrong) or act.stage < self.stage.get(place, 0):
            return
        below = act.kind == "angle" and (
            (wrong and wrong[0] == "back-off") or self.stage.get(place, 0) < act.previous
        )
        heals = wrong and (
            wrong[0] == "back-off" or (wrong[0] == "again" and act.stage == self.stage.get(place, 0))
        )
        if (act.ordered and not in_order) or below:
            self.wrong[place] = ("again", act.stage)
        elif heals:
            del self.wrong[place]
        self.stage[place] = act.stage
        if act.final and place not in self.wrong:
            self.final.add(place)
        elif place in self.wrong:
            self.final.discard(place)

    def _position_reopened(self, event: object) -> None:
        self._again(event.group, event.position)  # type: ignore[attr-defined]

    def _pass_reopened(self, event: object) -> None:
        for position in event.positions:  # type: ignore[attr-defined]
            self._again(event.group, position)  # type: ignore[attr-defined]

    def _again(self, group: str, position: int) -> None:
        place = (group, position)
        if self.wrong.get(place, ("", 0))[0] != "damaged":
            self.wrong[place] = ("again", self.stage.get(place, 0))
            self.final.discard(place)

    def _position_marked(self, event: object) -> None:
        place = (event.group, event.position)  # type: ignore[attr-defined]
        standing = str(event.standing)  # type: ignore[attr-defined]
        self.final.discard(place)
        self.wrong.pop(place, None)
        if standing == "damaged":
            self.wrong[place] = ("damaged", 0)
        elif standing == "doubtful":
            self.wrong[place] = ("marked", 0)
        elif standing == "final":
            self.final.add(place)
        elif standing == "empty":
            self.stage.pop(place, None)

    def _damage_mended(self, event: object) -> None:
        if event.afresh:  # type: ignore[attr-defined]
            self._begin(event.group, event.position)  # type: ignore[attr-defined]

    def _group_loosened(self, event: object) -> None:
        for position in range(1, self.route.procedure.groups[event.group].count + 1):  # type: ignore[attr-defined]
            self._begin(event.group, position)  # type: ignore[attr-defined]

    def _begin(self, group: str, position: int) -> None:
        place = (group, position)
        self.stage.pop(place, None)
        self.wrong.pop(place, None)
        self.final.discard(place)

    def open(self) -> set[tuple[str, ...]]:
        """List what is open."""
        here = [step for step in self.route.steps if self._is_mine(step.step)]
        found: set[tuple[str, ...]] = {("inside", tool) for tool, count in self.inside.items() if count}
        found |= {("measurement", name) for name in self.bad_value}
        found |= {("wait", name) for name in self.cut_short}
        found |= {("readings", name) for name in self.unread}
        for step in here:
            found |= self._of_step(step.step)
        return found

    def _is_mine(self, name: str) -> bool:
        step = self.route.step(name)
        later = name in self.route.procedure.first_start and not self.closing
        wanted = all(
            self.decided.get(each.removeprefix("not ")) is not each.startswith("not ") for each in step.when
        )
        return wanted and not later

    def _of_step(self, name: str) -> set[tuple[str, ...]]:
        step = self.route.step(name)
        found: set[tuple[str, ...]] = set()
        if step.tighten:
            group = self.route.procedure.groups[step.tighten.group]
            places = [(group.name, position) for position in range(1, group.count + 1)]
            found |= {("position", *map(str, place)) for place in places if place not in self.final}
        if name in self.suspect:
            found.add(("suspect", name))
        elif step.tighten is None and name in self.left_out:
            found.add(("skipped", name))
        elif step.tighten is None and name not in self.done:
            found.add(("step", name))
        for part in step.use:
            if self.fitted.get(part, 0) < self.route.procedure.parts[part].count:
                found.add(("kit", part))
        return found
