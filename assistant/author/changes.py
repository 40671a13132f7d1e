"""What changed from one procedure to another, in the trade's words, a line each."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any, Final

from pydantic import BaseModel

from assistant.procedure.model import Procedure, Step
from assistant.record.words import stage_words
from assistant.torque.group import FastenerGroup
from assistant.torque.stages import Stage

_WORDS: Final = {
    "procedure": "title",
    "about": "text about it",
    "say": "words",
    "class": "property class",
    "when": "condition",
    "left_hand": "left-hand thread",
    "if_not": "what to do on a no",
    "ask": "question",
    "test": "end test",
    "hold": "hold point",
    "use": "parts used",
    "first_start": "first start",
}
"""Keys that the trade calls otherwise; of the rest, the joints are taken out."""

_SECTIONS: Final = {
    "groups": "group",
    "parts": "part",
    "tools": "tool",
    "routes": "route",
    "pronounce": "word",
}


def changes(old: Procedure, new: Procedure) -> tuple[str, ...]:
    """Say everything that changed, in the order of the file; nothing where the two say the same."""
    return tuple(line for key in _keys(new) for line in _SECTION_CHANGES.get(key, _section)(old, new, key))


def _keys(model: BaseModel) -> tuple[str, ...]:
    return tuple(type(model).model_fields)


def _section(old: Procedure, new: Procedure, key: str) -> Iterator[str]:
    """Compare one key of the whole; one of named things, by their names."""
    before, after = getattr(old, key), getattr(new, key)
    if not isinstance(before, Mapping):
        yield from _differences(_word(key), _dumped(before), _dumped(after))
        return
    called = _SECTIONS.get(key, _word(key))
    for name in dict.fromkeys((*before, *after)):
        if name not in after:
            yield f"{called} {name} removed"
        elif name not in before:
            yield f"{called} {name} added{_described(after[name])}"
        else:
            yield from _THING_CHANGES.get(key, _thing)(f"{called} {name}", before[name], after[name])


def _described(thing: Any) -> str:
    if isinstance(thing, FastenerGroup):
        return f": {thing.count}, {', '.join(map(stage_words, thing.stages)) or 'no stages'}"
    return ""


def _thing(called: str, old: Any, new: Any) -> Iterator[str]:
    yield from _differences(called, _dumped(old), _dumped(new))


def _group(called: str, old: FastenerGroup, new: FastenerGroup) -> Iterator[str]:
    before, after = _dumped(old), _dumped(new)
    without = [{key: value for key, value in group.items() if key != "stages"} for group in (before, after)]
    yield from _differences(called, *without)
    yield from _stages(called, old.stages, new.stages)


def _stages(called: str, old: Sequence[Stage], new: Sequence[Stage]) -> Iterator[str]:
    """Tell stages that changed their value, came or went; numbered as in the new one, gone ones as in the old."""
    for tag, i, j, k, m in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag == "equal":
            continue
        for number in range(max(j - i, m - k)):
            before = old[i + number] if i + number < j else None
            after = new[k + number] if k + number < m else None
            yield from _stage(called, before, after, (k if after else i) + number + 1)


def _stage(called: str, old: Stage | None, new: Stage | None, number: int) -> Iterator[str]:
    here = f"{called}, stage {number}"
    if old is None and new is not None:
        yield f"{here} added: {stage_words(new)}"
    elif new is None and old is not None:
        yield f"{here} removed: {stage_words(old)}"
    elif old is not None and new is not None:
        if old.form == new.form:
            yield from _differences(here, _dumped(old), _dumped(new))
        else:
            yield f"{here}: from {stage_words(old)} to {stage_words(new)}"


def _steps(old: Procedure, new: Procedure, _key: str) -> Iterator[str]:
    before, after = ({step.step: step for step in procedure.steps} for procedure in (old, new))
    renamed = dict(_renamed(before, after))
    for name in before:
        if name in renamed:
            yield f"step {name} is now called {renamed[name]}"
        elif name not in after:
            yield f"step {name} removed"
    moved = _moved([name for name in before if name in after], [name for name in after if name in before])
    previous = ""
    for name, step in after.items():
        if name not in before and name not in renamed.values():
            yield f"step {name} added {_after(previous)}: {step.say}"
        if name in moved:
            yield f"step {name} moved, now {_after(previous)}"
        if name in before:
            yield from _differences(f"step {name}", _dumped(before[name]), _dumped(step))
        previous = name


def _after(previous: str) -> str:
    return f"after {previous}" if previous else "at the beginning"


def _renamed(old: Mapping[str, Step], new: Mapping[str, Step]) -> Iterator[tuple[str, str]]:
    came = {_but_name(step): name for name, step in new.items() if name not in old}
    for name, step in old.items():
        if name not in new and (now := came.pop(_but_name(step), "")):
            yield name, now


def _but_name(step: Step) -> Step:
    return step.model_copy(update={"step": ""})


def _moved(old: Sequence[str], new: Sequence[str]) -> set[str]:
    """Give the names that left their place among those that are in both."""
    kept = SequenceMatcher(None, old, new, autojunk=False).get_matching_blocks()
    return set(new) - {name for block in kept for name in new[block.b : block.b + block.size]}


def _differences(called: str, old: Any, new: Any) -> Iterator[str]:
    """Compare what was written; keys one by one, lists by what they gained and lost."""
    if old == new:
        return
    if isinstance(old, bool) or isinstance(new, bool):
        old, new = bool(old), bool(new)
    if isinstance(old, dict) and isinstance(new, dict) and old.keys() & new.keys():
        for key in dict.fromkeys((*old, *new)):
            yield from _differences(f"{called}, {_word(key)}", old.get(key), new.get(key))
    elif isinstance(old, list) and isinstance(new, list) and sorted(map(str, old)) != sorted(map(str, new)):
        yield from (f"{called} removed: {_shown(item)}" for item in old if item not in new)
        yield from (f"{called} added: {_shown(item)}" for item in new if item not in old)
    elif old in (None, [], {}, ""):
        yield f"{called} added: {_shown(new)}"
    elif new in (None, [], {}, ""):
        yield f"{called} removed: {_shown(old)}"
    else:
        yield f"{called}: from {_shown(old)} to {_shown(new)}"


def _word(key: str) -> str:
    return _WORDS.get(str(key), str(key).replace("_", " "))


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "; ".join(_shown(each) if key in {"say", "what"} else f"{_word(key)} {_shown(each)}"
                         for key, each in value.items())  # fmt: skip
    if isinstance(value, list):
        return ", ".join(map(_shown, value))
    return {True: "yes", False: "no"}.get(value, str(value)) if isinstance(value, bool) else str(value)


def _dumped(thing: Any) -> Any:
    """Give a model as it is written, without what was left out or is as it usually is."""
    if isinstance(thing, BaseModel):
        return thing.model_dump(mode="json", by_alias=True, exclude_defaults=True, exclude={"name"})
    return list(thing) if isinstance(thing, tuple) else thing


_THING_CHANGES: Final[Mapping[str, Callable[[str, Any, Any], Iterator[str]]]] = {"groups": _group}
_SECTION_CHANGES: Final[Mapping[str, Callable[[Procedure, Procedure, str], Iterator[str]]]] = {
    "steps": _steps
}
