"""How the record puts things, in written words: open items, stages, lists."""

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Final

from assistant.job.closeout import OpenItem
from assistant.job.events import Measured, WorkedOut
from assistant.job.state import JobState
from assistant.job.values import kept
from assistant.measures.readings import readable
from assistant.procedure.route import Route
from assistant.procedure.values import Measure, WorkOut
from assistant.record.model import Group, Record, Talk
from assistant.record.things import THINGS_OPEN
from assistant.torque.group import FastenerGroup
from assistant.torque.ledger import PositionRecord, Standing
from assistant.torque.plan import Act
from assistant.torque.stages import Stage
from assistant.torque.units import Quantity

VERDICTS: Final[Mapping[str, str]] = {
    "in": "within its limits",
    "below": "below its limit",
    "above": "above its limit",
    "in doubt": "too close to its limit for the gauge to tell",
    "no limits": "with no limits",
}
"""How a measurement stands, by its verdict."""


def number_of(route: Route, step: str) -> int:
    """Give the number of a step, from 1; 0 for what belongs to no step."""
    return route.place(step) + 1 if step else 0


def listed(things: Iterable[object]) -> str:
    """Join things as one writes them: "1, 4 and 7"."""
    words = [str(thing) for thing in things]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def capital(words: str) -> str:
    """Begin words with a capital letter."""
    return words[:1].upper() + words[1:]


def title(group: FastenerGroup) -> str:
    """Name a group as a heading."""
    return capital(group.spoken)


def stage_words(stage: Stage) -> str:
    """Say what a stage of a plan does: "snug", "60 N.m", "then 90 deg", "1/4 turn at a time until seated"."""
    if stage.rise is not None:
        end = f"until {stage.until}" if stage.until else f"{stage.most_rounds} rounds"
        return f"{stage.value} at a time, {end}"
    if stage.share is not None:
        return f"{stage.value} of the final torque"
    if stage.value is None:
        return _BARE.get(stage.kind, stage.kind)
    return _WITH_VALUE.get(stage.kind, "{value}").format(value=stage.value)


def act_words(act: Act) -> str:
    """Say what was done at a position: "snug", "60 N.m", "back off 1 turn"."""
    if act.kind == "rise":
        return f"{act.value} more, round {act.round}"
    if act.value is None:
        return _BARE.get(act.kind, act.kind)
    return _WITH_VALUE.get(act.kind, "{value}").format(value=act.value)


_BARE: Final = {
    "hand": "hand-tight",
    "check": "check",
    "centre": "centring tool",
    "replace": "fastener for tool",
}
_WITH_VALUE: Final = {
    "angle": "then {value}",
    "back-off": "back off {value}",
    "centre": "centring tool, {value}",
    "replace": "fastener for tool, {value}",
    "check": "check at {value}",
}


def limits(least: Quantity | None, most: Quantity | None) -> str:
    """Write the limits of a measurement."""
    if least is not None and most is not None:
        return f"{least} to {most}"
    return f"at most {most}" if most is not None else f"at least {least}"


def duration(seconds: float) -> str:
    """Write a length of time: "45 min", "1 h 5 min", "12 s"."""
    hours, rest = divmod(int(seconds + 0.5), 3600)
    minutes, whole = divmod(rest, 60)
    parts = [f"{n} {unit}" for n, unit in ((hours, "h"), (minutes, "min"), (whole, "s")) if n]
    return " ".join(parts) or "0 s"


def zone_words(record: Record) -> str:
    """Say by which clock all times are."""
    return f"All times are by the clock where the job began ({record.head.zone})."


def open_words(route: Route, state: JobState, item: OpenItem) -> tuple[str, str]:
    """Say one open item: what is open, and the detail that is written smaller."""
    return _OPEN[item.kind](route, state, item)


def _position(route: Route, state: JobState, item: OpenItem) -> tuple[str, str]:
    group = route.procedure.groups[item.group]
    which = "all" if len(item.positions) == group.count else listed(item.positions)
    records = [state.ledger.get((item.group, position), PositionRecord()) for position in item.positions]
    reached = listed(dict.fromkeys(record.words for record in records))
    standing = f"at {reached}" if item.standing is Standing.STAGE else reached
    whys = dict.fromkeys(record.why for record in records if record.why)
    until = f"to be final after step {number_of(route, item.step)}"
    return f"{title(group)}, {which}: {standing}", "; ".join([*whys, until])


def _measurement(route: Route, state: JobState, item: OpenItem) -> tuple[str, str]:
    step, found = route.step(item.step), kept(state, item.step)
    wanted = step.value
    assert found is not None, f"{item.step} has no value"  # noqa: S101
    number, bounds = number_of(route, item.step), _bounds(found, wanted)
    return (
        f"{capital(wanted.what) if wanted else item.step}: {readable(found.judged)}, {VERDICTS[item.what]}",
        f"step {number}, {f'limits {bounds}, ' if bounds else ''}neither mended nor accepted",
    )


def _bounds(found: Measured | WorkedOut, wanted: Measure | WorkOut | None) -> str:
    """Write the limits that a value was judged by; of an older journal, those of the procedure."""
    least, most = found.least, found.most
    if least is None and most is None and wanted is not None:
        least, most = (
            limit if isinstance(limit, Quantity) else None for limit in (wanted.least, wanted.most)
        )
    readables = (limit and readable(limit) for limit in (least, most))
    return limits(*readables) if least is not None or most is not None else ""


def _stale(route: Route, state: JobState, item: OpenItem) -> tuple[str, str]:
    found, number = kept(state, item.step), number_of(route, item.step)
    value = f" ({readable(found.stands_for)})" if found else ""
    return f"The value of step {number}{value} no longer holds", f"the {item.what} has changed since"


def _readings(route: Route, _state: JobState, item: OpenItem) -> tuple[str, str]:
    return f"Step {number_of(route, item.step)} lacks a reading", f"{item.count} taken"


def _wait(route: Route, state: JobState, item: OpenItem) -> tuple[str, str]:
    early = duration(state.timers[item.step].cut_short_s)
    number, say = number_of(route, item.step), route.step(item.step).say
    return f"Wait of step {number} was cut short, {early} too early", say


def _kit(route: Route, _state: JobState, item: OpenItem) -> tuple[str, str]:
    return (
        f"Not fitted: {item.what}",
        f"{item.count} left over, to be fitted at step {number_of(route, item.step)}",
    )


def _skipped(route: Route, _state: JobState, item: OpenItem) -> tuple[str, str]:
    step = route.step(item.step)
    return f"Step {number_of(route, item.step)} was left out: {step.say}", f"reason: {item.what}"


def _step(route: Route, _state: JobState, item: OpenItem) -> tuple[str, str]:
    return f"Step {number_of(route, item.step)} is not done: {route.step(item.step).say}", ""


def _suspect(route: Route, _state: JobState, item: OpenItem) -> tuple[str, str]:
    because = f"step {number_of(route, item.what)} was done again"
    return f"Step {number_of(route, item.step)} is suspect: {route.step(item.step).say}", because


_OPEN: Final[Mapping[str, Callable[[Route, JobState, OpenItem], tuple[str, str]]]] = {
    "position": _position,
    **THINGS_OPEN,
    "measurement": _measurement,
    "stale": _stale,
    "readings": _readings,
    "wait": _wait,
    "kit": _kit,
    "suspect": _suspect,
    "skipped": _skipped,
    "step": _step,
}
"""The words for each kind of open item that `job.closeout` finds."""


_LEFT_OPEN: Final = re.compile(r"(?P<kind>\w+) at (?P<step>\S*)(?: \((?P<what>.*)\))?", re.DOTALL)
_LEFT: Final[Mapping[str, str]] = {
    "position": "{what}",
    "inside": "still inside: {what}",
    "off": "not back: {what}",
    "unlabelled": "without a label: {what}",
    "undescribed": "not described: {what}",
    "supply": "not applied: {what}",
    "reused": "used again: {what}",
    "kit": "not fitted: {what}",
    "measurement": "the value is {what}",
    "stale": "its value no longer holds",
    "readings": "readings are missing",
    "wait": "not waited out",
    "suspect": "suspect",
    "skipped": "left out, {what}",
    "step": "not done",
}
"""What is said of each kind of open item that was left so, by what the journal names."""


def left_open_words(route: Route, item: str) -> str:
    """Say what was left open as a reader knows it: by the step's number, where the journal has its name."""
    found = _LEFT_OPEN.fullmatch(item)
    if found is None or found["kind"] not in _LEFT:
        return item
    what: str = found["what"] or ""
    words = _LEFT[found["kind"]].format(what=VERDICTS.get(what, what))
    known = any(step.step == found["step"] for step in route.steps)
    return f"step {number_of(route, found['step'])}, {words}" if known else words


def under_words(record: Record) -> str:
    """Say which procedure a record is of."""
    head = record.head
    route = f", route “{head.route}”" if head.route else ""
    return f"{head.procedure}, revision {head.revision}{route}"


def open_heading(record: Record) -> str:
    """Say how many things are open."""
    return f"{len(record.open_items)} open" if record.open_items else "Nothing is open"


def closing_words(record: Record) -> str:
    """Say whether and how the job was closed."""
    head = record.head
    if head.closed is None:
        return "The job has not been closed" + ("; work is paused." if head.paused else ".")
    by = f" by {head.closed_by}" if head.closed_by else ""
    reason = f" with open items. Reason given: “{head.close_reason}”" if head.close_reason else ""
    return f"The job was closed on {head.closed:%Y-%m-%d} at {head.closed:%H:%M:%S}{by}{reason}."


def talk_words(talk: Talk) -> str:
    """Say how the talk went: what was understood, refused, taken back."""
    return (
        f"Understood: {talk.heard} utterances. Heard but refused: {talk.asked_again + talk.let_pass}"
        f" ({talk.asked_again} asked again, {talk.let_pass} let pass as talk or noise). Taken back: {talk.taken_back}."
    )


def group_words(group: Group) -> str:
    """Say what a group is: count, thread, class, condition, order, and how many are final."""
    parts = [
        f"{group.final} of {len(group.positions)} final.",
        f"{size_words(group)}.",
        f"Order: {', '.join(map(str, group.order))}." if group.order else "",
        "To be tightened again after the first heat." if group.retorque_after_heat else "",
    ]
    return " ".join(part for part in parts if part)


def size_words(group: Group) -> str:
    """Say how many positions a group has, and of what, as far as it is written; "1 position" by itself."""
    count = len(group.positions)
    what = ", ".join(part for part in (group.thread, group.property_class, group.condition) if part)
    size = (
        f"{count} \N{MULTIPLICATION SIGN} {what}" if what else f"{count} position{'s' if count > 1 else ''}"
    )
    return f"{size}{', left-hand thread' if group.left_hand else ''}"
