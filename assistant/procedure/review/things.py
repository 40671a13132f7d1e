"""Tools, openings and parts: what stays inside, what is left over, what is fitted twice."""

import re
from collections import Counter
from collections.abc import Iterator
from typing import Final

from assistant.procedure.finding import Finding
from assistant.procedure.model import Step
from assistant.procedure.review.ways import Looked, Way, on_route

_CLOSES: Final = re.compile(r"\b(plug|cap|rag|tape|cover|bung|blank|stopper|cloth)s?\b", re.IGNORECASE)
_OPENING: Final = (
    r"(?:ports?|holes?|bores?|openings?|pipes?|inlets?|outlets?|passages?|lines?|intakes?|galler(?:y|ies))"
)
_STOPPER: Final = r"(?:plugs?|rags?|tape|cloths?|bungs?|stoppers?)"
_CLOSING: Final = re.compile(
    rf"\b(?:plug|stuff|tape over|blank off|cap off|bung)(?: up)? (?:the|each|both|all|every)\b[^.,]*\b{_OPENING}\b|"
    rf"\b(?:close|cover|stop|block|stuff)\b[^.]*\b{_OPENING}\b[^.]*\b{_STOPPER}\b|"
    rf"\b(?:stuff|push|put|press|wind|lay)\b[^.]*\b{_STOPPER}\b[^.]*\b(?:in|into|over|on)\b[^.]*\b{_OPENING}\b",
    re.IGNORECASE,
)
_AGAIN: Final = r"\b(?:old|same|used|reuse(?: the)?)\s+{name}s?\b"


def left_inside(looked: Looked) -> Iterator[Finding]:
    """Find tools that go in and, on some way or route, never come out again."""
    told: set[str] = set()
    routes = [(f" on the route {name}", on_route(looked, name)) for name in looked.procedure.routes]
    for where, seen in (("", looked), *routes):
        left = {way: _inside(seen, way) for way in seen.ways}
        for way, inside in left.items():
            for name, (place, count) in inside.items():
                if name not in told:
                    told.add(name)
                    always = all(name in each for each in left.values())
                    case = where or way.case(always=always)
                    yield _left(seen.procedure.steps[place], place, name, count, case)


def _left(step: Step, place: int, name: str, count: int, where: str) -> Finding:
    many = f"{count} of {name}" if count > 1 else name
    closed = "; what it closes is never opened" if _CLOSES.search(name) else ""
    return Finding(
        path=("steps", place, "put_in"),
        what=f"{many} goes in at step {step.step} and is never counted out{where}{closed}",
        do=f"write take_out: {name} at the step that takes it out",
    )


def _inside(looked: Looked, way: Way) -> dict[str, tuple[int, int]]:
    """Give what is left inside at the end of a way: where it last went in, and how many."""
    inside: Counter[str] = Counter()
    last: dict[str, int] = {}
    for place, step in looked.steps(way):
        inside.update(step.put_in)
        last.update(dict.fromkeys(step.put_in, place))
        inside.subtract(step.take_out)
    return {name: (last[name], count) for name, count in inside.items() if count > 0 and name in last}


def out_unasked(looked: Looked) -> Iterator[Finding]:
    """Find tools that come out without having gone in, and more of them inside than there are."""
    told: set[tuple[str, str]] = set()
    for way in looked.ways:
        inside: Counter[str] = Counter()
        for place, step in looked.steps(way):
            inside.update(step.put_in)
            for name in dict.fromkeys(step.put_in):
                if inside[name] > looked.procedure.tools[name].count and (step.step, name) not in told:
                    told.add((step.step, name))
                    yield _too_many(place, step, name, looked.procedure.tools[name].count)
            inside.subtract(step.take_out)
            for name in dict.fromkeys(step.take_out):
                if inside[name] < 0 and (step.step, name) not in told:
                    told.add((step.step, name))
                    inside[name] = 0
                    yield Finding(
                        path=("steps", place, "take_out"),
                        what=f"step {step.step} takes out {name}, which no step before it has put in",
                        do=f"write put_in: {name} at the step that puts it in",
                    )


def _too_many(place: int, step: Step, name: str, count: int) -> Finding:
    return Finding(
        path=("steps", place, "put_in"),
        what=f"step {step.step} puts in more of {name} than there are: {count}",
        do=f"take it out before, or write {name}: {{count: ...}} under tools",
    )


def idle_tools(looked: Looked) -> Iterator[Finding]:
    """Find tools that never go in."""
    used = {name for step in looked.procedure.steps for name in step.put_in}
    for name in looked.procedure.tools:
        if name not in used and not any(name in step.take_out for step in looked.procedure.steps):
            yield Finding(
                path=("tools",),
                what=f"no step puts in the tool {name}",
                do=f"write put_in: {name} at the step that puts it in, or take it out of the list",
            )


def uncounted_openings(looked: Looked) -> Iterator[Finding]:
    """Find words that close an opening where nothing is counted in."""
    for place, step in enumerate(looked.procedure.steps):
        if not step.put_in and (found := _CLOSING.search(step.say)):
            yield Finding(
                path=("steps", place, "say"),
                what=f"step {step.step} closes an opening ({found[0]}), and nothing is counted in",
                do="name what closes it under tools, with put_in here and take_out where it is opened",
            )


def unused_parts(looked: Looked) -> Iterator[Finding]:
    """Find kit items that no step uses, or of which some are left over on every way."""
    handled = {
        name for step in looked.procedure.steps for name in (*step.use, *step.take_off, *step.put_back)
    }
    for name, part in looked.procedure.parts.items():
        most = max(_used(looked, way)[name] for way in looked.ways)
        if name not in handled:
            what, do = (
                f"no step uses the part {name}",
                f"write use: {name} at a step, or take it out of the kit",
            )
            yield Finding(path=("parts", name), what=what, do=do)
        elif 0 < most < part.count:
            what = f"the kit has {part.count} of {name}, and the steps use {most}"
            yield Finding(path=("parts", name), what=what, do="use the rest at a step, or correct the count")


def used_twice(looked: Looked) -> Iterator[Finding]:
    """Find parts of which, on some way, more are used than the kit has."""
    told: set[str] = set()
    for way in looked.ways:
        used: Counter[str] = Counter()
        for place, step in looked.steps(way):
            used.update(step.use)
            for name in dict.fromkeys(step.use):
                part = looked.procedure.parts[name]
                if used[name] > part.count and name not in told:
                    told.add(name)
                    again = (
                        " again, and it is used once" if part.use_once else f", and the kit has {part.count}"
                    )
                    yield Finding(
                        path=("steps", place, "use"),
                        what=f"step {step.step} uses {name}{again}",
                        do=f"use another part, or write {name}: {{count: {used[name]}}} under parts",
                    )


def reused(looked: Looked) -> Iterator[Finding]:
    """Find use-once parts that go back, or that the words call old."""
    once = [name for name, part in looked.procedure.parts.items() if part.use_once]
    for place, step in enumerate(looked.procedure.steps):
        for name in once:
            again = re.search(_AGAIN.format(name=re.escape(name)), step.say, re.IGNORECASE)
            if name in step.put_back or (again and name in step.use):
                yield Finding(
                    path=("steps", place, "put_back" if name in step.put_back else "say"),
                    what=f"step {step.step} fits the old {name}, which is used once",
                    do=f"write use: {name} and say that it is new, or take use_once out",
                )


def kept_off(looked: Looked) -> Iterator[Finding]:
    """Find parts that come off and, on no way, go back or are replaced."""
    back = {name for step in looked.procedure.steps for name in (*step.put_back, *step.use)}
    for place, step in enumerate(looked.procedure.steps):
        for name in step.take_off:
            if name not in back:
                yield Finding(
                    path=("steps", place, "take_off"),
                    what=f"{name} comes off at step {step.step} and never goes back",
                    do=f"write put_back: {name} at the step that fits it",
                )


def _used(looked: Looked, way: Way) -> Counter[str]:
    return Counter(name for _, step in looked.steps(way) for name in step.use)
