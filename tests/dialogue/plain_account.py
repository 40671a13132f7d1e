"""A second account of what is open in a job: slow and obvious, kept in plain dicts from what was recorded.

It shares no rule with the code that it is held against: who rests on whom, what is final, which verdict a
value has and what is open are worked out here once more, from the procedure as written and the events.
"""

from collections import Counter
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from assistant.job.events import Entry
from assistant.procedure.model import Procedure, Step
from assistant.procedure.route import Route
from assistant.torque.plan import Act

Item = tuple[Any, ...]
HEALED = ("order", "threshold", "again", "interrupted", "tool")
THE_GAP = (Decimal("0.10"), Decimal("0.30"), Decimal("0.02"))
"""What every measured step of the random procedures wants, in mm: at least, at most, and the gauge's doubt."""

SPEAKS_OF_THE_MACHINE = {
    *("step-done", "step-skipped", "step-reopened", "suspect-cleared", "decision-taken", "check-answered"),
    *("measured", "measurement-accepted", "reading-taken", "readings-reopened"),
    *("part-used", "part-reused", "tool-moved", "timer-started", "timer-stopped"),
    *("group-loosened", "position-worked", "position-turned", "position-reopened", "pass-reopened"),
    *("position-marked", "damage-mended", "close-out-passed", "open-accepted", "worked-before"),
}
"""Kinds of events that undo takes away."""


def rests_on(procedure: Procedure, name: str) -> set[str]:
    """Give all steps that a step rests on, by walking down from it again and again."""
    found: set[str] = set()
    to_look_at = [name]
    while to_look_at:
        below = _right_below(procedure, to_look_at.pop())
        to_look_at += [each for each in below if each not in found]
        found |= set(below)
    return found


def _right_below(procedure: Procedure, name: str) -> list[str]:
    place = [step.step for step in procedure.steps].index(name)
    step, before = procedure.steps[place], procedure.steps[:place]
    named = [each.step for each in before[-1:]] if step.rests_on is None else list(step.rests_on)
    if step.tighten:
        named += [each.step for each in before if each.tighten and each.tighten.group == step.tighten.group]
    return named


class Account:
    """What has happened, in plain dicts; begun again from nothing whenever something is taken back."""

    def __init__(self, route: Route) -> None:
        self.route = route
        self._kept: list[Entry] = []
        self._begin()

    def _begin(self) -> None:
        self.done: set[str] = set()
        self.skipped: set[str] = set()
        self.suspect: set[str] = set()
        self.decisions: dict[str, bool] = {}
        self.answered: dict[str, bool] = {}
        self.values: dict[str, str] = {}
        self.cut: set[str] = set()
        self.unread: set[str] = set()
        self.inside: Counter[str] = Counter()
        self.used: Counter[str] = Counter()
        self.again: list[Any] = []
        self.closing = False
        self.positions: dict[tuple[str, int], dict[str, Any]] = {}
        self.acts: dict[str, set[int]] = {}

    def hear(self, entries: Iterable[Entry]) -> None:
        """Take in what a turn recorded."""
        for entry in entries:
            if entry.event.kind == "undone":
                turn = entry.event.turn
                self._kept = [kept for kept in self._kept if kept.turn != turn]
                self._begin()
                for kept in self._kept:
                    self._take(kept.event)
            elif entry.event.kind in SPEAKS_OF_THE_MACHINE:
                self._kept.append(entry)
                self._take(entry.event)

    def _take(self, event: Any) -> None:
        if take := getattr(self, "_" + event.kind.replace("-", "_"), None):
            take(event)

    # the steps

    def _step_done(self, event: Any) -> None:
        self.done.add(event.step)
        self.skipped.discard(event.step)
        self.suspect.discard(event.step)

    def _step_skipped(self, event: Any) -> None:
        self.skipped.add(event.step)
        self.done.discard(event.step)
        self.suspect.discard(event.step)

    def _step_reopened(self, event: Any) -> None:
        above = {name for name in self.done if event.step in rests_on(self.route.procedure, name)}
        assert set(event.suspect) == above, f"{event.step}: suspect {event.suspect}, not {above}"
        self.suspect |= above
        for names in (self.done, self.skipped, self.suspect, self.cut, self.unread):
            names.discard(event.step)
        for answers in (self.answered, self.values):
            answers.pop(event.step, None)

    def _suspect_cleared(self, event: Any) -> None:
        self.suspect.discard(event.step)

    def _decision_taken(self, event: Any) -> None:
        self.decisions[event.decision] = event.yes

    def _check_answered(self, event: Any) -> None:
        self.answered[event.step] = event.passed

    def _close_out_passed(self, _event: Any) -> None:
        self.closing = True

    # the things

    def _measured(self, event: Any) -> None:
        low, high, doubt, value = *THE_GAP, event.value.to("mm").value
        if value < low - doubt:
            verdict = "below"
        elif value > high + doubt:
            verdict = "above"
        else:
            verdict = "in" if low + doubt <= value <= high - doubt else "in doubt"
        assert event.verdict == verdict
        self.values[event.step] = verdict
        self.unread.discard(event.step)

    def _reading_taken(self, event: Any) -> None:
        self.unread.add(event.step)

    def _readings_reopened(self, event: Any) -> None:
        self.unread.add(event.step)

    def _measurement_accepted(self, event: Any) -> None:
        if event.reason != "do it later":
            self.values[event.step] = "in"

    def _part_used(self, event: Any) -> None:
        self.used[event.part] += 1

    def _part_reused(self, event: Any) -> None:
        self.used[event.part] += 1
        self.again.append(event)

    def _tool_moved(self, event: Any) -> None:
        self.inside[event.tool] = max(0, self.inside[event.tool] + (1 if event.inside else -1))

    def _timer_started(self, event: Any) -> None:
        self.cut.discard(event.step)

    def _timer_stopped(self, event: Any) -> None:
        self.cut.add(event.step)

    # the positions

    def _position(self, group: str, position: int) -> dict[str, Any]:
        nothing = {"stage": 0, "doubt": "", "final": False, "damaged": False}
        return self.positions.setdefault((group, position), nothing)

    def _position_worked(self, event: Any) -> None:
        plan, act = self.route.plans[event.group], event.act
        done = self.acts.setdefault(event.group, set())
        before = [n for n in range(event.number) if plan[n].ordered and n not in done]
        due = all(self._position(event.group, plan[n].position)["damaged"] for n in before)
        # A rise goes round and round: whichever comes next in it is in its turn.
        assert event.in_order == due or (act.kind == "rise" and event.in_order)
        done |= {event.number, *event.spared}
        _turn(self._position(event.group, act.position), act, due=event.in_order)

    def _drop(self, group: str, *numbers: int) -> None:
        self.acts[group] = self.acts.get(group, set()) - set(numbers)

    def _position_reopened(self, event: Any) -> None:
        self._drop(event.group, event.number, *event.leading_up)
        _doubt(self._position(event.group, event.position), "again")

    def _pass_reopened(self, event: Any) -> None:
        self._drop(event.group, *event.numbers)
        for position in event.positions:
            _doubt(self._position(event.group, position), event.because)

    def _position_marked(self, event: Any) -> None:
        position = self._position(event.group, event.position)
        if event.standing == "not touched":
            position["stage"] = 0
        position["doubt"] = "marked" if event.standing == "doubtful" else ""
        position["final"] = event.standing == "final"
        position["damaged"] = event.standing == "damaged"

    def _damage_mended(self, event: Any) -> None:
        self._drop(event.group, *event.numbers)
        if event.afresh:
            self.positions.pop((event.group, event.position))

    def _group_loosened(self, event: Any) -> None:
        self.acts.pop(event.group, None)
        for group, position in list(self.positions):
            if group == event.group:
                self.positions.pop((group, position))

    # what is open

    def mine(self) -> list[Step]:
        """Give the steps that the job has."""
        return [step for step in self.route.steps if self._applies(step)]

    def _applies(self, step: Step) -> bool:
        if step.step in self.route.procedure.first_start and not self.closing:
            return False
        for condition in step.when:
            unwanted = condition.startswith("not ")
            if self.decisions.get(condition.removeprefix("not ")) is not (not unwanted):
                return False
        return True

    def open_items(self) -> Counter[Item]:
        """List what is open, thing by thing."""
        found: Counter[Item] = Counter()
        groups = {step.tighten.group for step in self.mine() if step.tighten}
        for group in groups:
            for position in range(1, self.route.procedure.groups[group].count + 1):
                if not self.positions.get((group, position), {"final": False})["final"]:
                    found["position", group, position] += 1
        found.update(("inside", tool, count) for tool, count in self.inside.items() if count)
        found.update(("measurement", step) for step, verdict in self.values.items() if verdict != "in")
        found.update(("readings", step) for step in self.unread & self.done)
        found.update(("wait", step) for step in self.cut)
        here = [step.step for step in self.mine()]
        found.update(("reused", each.step) for each in self.again if each.departure and each.step in here)
        for name, part in self.route.procedure.parts.items():
            left = part.count - self.used[name]
            if left > 0 and any(name in step.use for step in self.mine()):
                found["kit", name, left] += 1
        groups_open = {item[1] for item in found if item[0] == "position"}
        for step in self.mine():
            found.update(self._of_step(step, groups_open))
        return found

    def _of_step(self, step: Step, groups_open: set[str]) -> Iterable[Item]:
        if step.step in self.suspect:
            yield "suspect", step.step
        elif step.tighten and step.tighten.group in groups_open:
            return
        elif step.step in self.skipped:
            yield "skipped", step.step
        elif step.step not in self.done:
            yield "step", step.step


def _turn(position: dict[str, Any], act: Act, *, due: bool) -> None:
    if position["damaged"]:
        return
    if act.kind == "back-off":
        doubt = "marked" if position["doubt"] == "marked" else "back-off"
        position |= {"stage": act.stage, "doubt": doubt, "final": False}
        return
    if position["final"] or act.stage < position["stage"]:
        return
    if act.ordered and not due:
        doubt = "order"
    elif act.kind == "angle" and (position["doubt"] == "back-off" or position["stage"] < act.previous):
        doubt = "threshold"
    elif position["doubt"] == "back-off" or (position["doubt"] in HEALED and position["stage"] == act.stage):
        doubt = ""
    else:
        doubt = position["doubt"]
    position |= {"stage": act.stage, "doubt": doubt, "final": act.final and not doubt}


def _doubt(position: dict[str, Any], because: str) -> None:
    if not position["damaged"]:
        position |= {"doubt": because, "final": False}
