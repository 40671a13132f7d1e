"""Repeats and sub-procedures, written out: what stands in the file once becomes steps and groups of their own.

    steps:
      - repeat: cylinder                    once for each name, which fills {cylinder}
        each: [front, rear]
        groups:
          "{cylinder} rocker bolts": {count: 2, stages: [snug, {torque: 18 N.m}]}
        steps:
          - {step: push-rods, say: Put the {cylinder} push rods back.}
          - {step: rockers, say: Tighten the {cylinder} rockers., tighten: "{cylinder} rocker bolts"}
        differ:
          rear: {push-rods: {caution: The rear one is close to the bulkhead.}}
      - do: bleed                           a sub-procedure, with what it needs
        with: {side: front, least: 45 min}
    subs:
      bleed:
        needs: [side, least]
        steps:
          - {step: bleed, say: Let the {side} lifters bleed down., wait: {least: "{least}", test: Soft?}}

The names of steps get the filling as their ending (push-rods-front; of a sub-procedure the
first), in `rests_on` too, so that each has its own place in the job.
Lines are kept, so that a mistake in the written-out text is told where it stands in the file.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

from ruamel.yaml.comments import CommentedMap, CommentedSeq

from assistant.errors import ProcedureError
from assistant.procedure.yaml_text import place

_GAP: Final = re.compile(r"\{([a-z][a-z ]*)\}")
BLOCKS: Final = {
    "repeat": (("repeat", "each", "steps"), ("groups", "differ")),
    "do": (("do",), ("with",)),
    "sub": (("steps",), ("needs", "groups")),
}
"""The keys that each kind of block must have, and those that it may have."""

SHAPES: Final = {
    "repeat": (str, "a name"),
    "do": (str, "a name"),
    "each": (list, "a list"),
    "steps": (list, "a list"),
    "needs": (list, "a list"),
    "with": (dict, "keys with values"),
    "groups": (dict, "keys with values"),
    "differ": (dict, "keys with values"),
}
"""What stands under a key of a block."""

_DEEPEST: Final = 4
"""How many blocks may stand in one another; a sub-procedure that does itself is stopped by it too."""


def expanded(data: Any, name: str) -> Any:
    """Give the file's keys with all repeats and sub-procedures written out; `name` is the file to name in a mistake.

    Raises ProcedureError for a block that is not whole, and for a gap that nothing fills.
    """
    if not isinstance(data.get("steps"), list):
        return data
    writer = _Writer(data, name)
    steps = CommentedSeq()
    for line, step in writer.written(data["steps"], ("steps",), {}):
        steps.append(step)
        _set_line(steps, len(steps) - 1, line)
    whole = _same_lines(data)
    whole.update({key: value for key, value in data.items() if key != "subs"})
    whole["steps"] = steps
    if writer.groups:
        whole["groups"] = _joined(data.get("groups"), writer.groups)
        _copy_key_line(data, "groups" if "groups" in data else "steps", whole, "groups")
    return whole


class _Writer:
    """Writes blocks out, and gathers the groups that they bring."""

    def __init__(self, data: Any, name: str) -> None:
        self._data, self._name = data, name
        self._subs = data.get("subs") or {}
        if not isinstance(self._subs, dict):
            raise self._error("subs are not keys with values", ("subs",), "write each under its name")
        self.groups = CommentedMap()
        self._depth = 0

    def written(
        self, steps: Any, loc: tuple[Any, ...], filling: Mapping[str, Any]
    ) -> Iterator[tuple[int, Any]]:
        """Give each step with its line (from 0), blocks written out in their place."""
        for number, step in enumerate(steps):
            here = (*loc, number)
            line = steps.lc.item(number)[0] if isinstance(steps, CommentedSeq) else 0
            if isinstance(step, dict) and "repeat" in step:
                yield from self._repeated(step, here, filling)
            elif isinstance(step, dict) and "do" in step:
                yield from self._done(step, here, filling)
            else:
                yield line, self._filled(step, here, filling)

    def _repeated(
        self, block: Any, loc: tuple[Any, ...], filling: Mapping[str, Any]
    ) -> Iterator[tuple[int, Any]]:
        self._needs(block, "repeat", loc)
        self._check_names(block, loc)
        for name in block["each"]:
            differing = (block.get("differ") or {}).get(name) or {}
            inner = {**filling, str(block["repeat"]): name}
            yield from self._block(block, loc, inner, _ending(name), differing)

    def _done(
        self, block: Any, loc: tuple[Any, ...], filling: Mapping[str, Any]
    ) -> Iterator[tuple[int, Any]]:
        self._needs(block, "do", loc)
        sub = self._subs.get(block["do"])
        if sub is None:
            known = ", ".join(self._subs) or "none"
            raise self._error(
                f"there is no sub-procedure {block['do']!r}", loc, f"under subs there is {known}"
            )
        self._needs(sub, "sub", ("subs", block["do"]))
        given = {key: self._filled(value, loc, filling) for key, value in (block.get("with") or {}).items()}
        wanted = [str(need) for need in sub.get("needs") or ()]
        if wrong := set(wanted) ^ set(given):
            raise self._error(
                f"{block['do']} needs {', '.join(wanted) or 'nothing'}",
                loc,
                f"mend with: {', '.join(sorted(wrong))}",
            )
        ending = _ending(next(iter(given.values()), block["do"]))
        yield from self._block(sub, ("subs", block["do"]), {**filling, **given}, ending, {})

    def _block(
        self,
        block: Any,
        loc: tuple[Any, ...],
        filling: Mapping[str, Any],
        ending: str,
        differing: Mapping[str, Any],
    ) -> Iterator[tuple[int, Any]]:
        groups = self._filled(block.get("groups") or CommentedMap(), (*loc, "groups"), filling)
        _update(self.groups, groups)
        self._depth += 1
        if self._depth > _DEEPEST:
            raise self._error(
                "blocks stand in one another too deep",
                loc,
                "take one out; is there a sub-procedure that does itself?",
            )
        inner = tuple(self.written(block["steps"], (*loc, "steps"), filling))
        self._depth -= 1
        names = {str(step["step"]) for _, step in inner if isinstance(step, dict) and "step" in step}
        if unknown := [name for name in differing if str(name) not in names]:
            raise self._error(
                f"differ names step {unknown[0]!r}, which the block has not",
                (*loc, "differ"),
                f"it has {', '.join(sorted(names))}",
            )
        for line, step in inner:
            yield line, _ended(step, names, ending, differing)

    def _check_names(self, block: Any, loc: tuple[Any, ...]) -> None:
        """Refuse what a repeat cannot go through, and differences of what it does not."""
        if odd := [name for name in block["each"] if not isinstance(name, str | int)]:
            raise self._error(f"{odd[0]} is no name", (*loc, "each"), "write a list of names")
        for name, differing in (block.get("differ") or {}).items():
            if name not in block["each"]:
                listed = ", ".join(map(str, block["each"]))
                raise self._error(
                    f"differ names {name!r}, which is not repeated", (*loc, "differ"), f"it is for {listed}"
                )
            steps = (differing or {}).values() if isinstance(differing or {}, dict) else [differing]
            if any(not isinstance(keys, dict) for keys in steps):
                raise self._error(
                    f"what differs for {name} is not keys with values",
                    (*loc, "differ", name),
                    "write the step's name, and under it the keys that differ",
                )

    def _filled(self, node: Any, loc: tuple[Any, ...], filling: Mapping[str, Any]) -> Any:
        """Give a copy with every gap filled, keys and lines included."""
        if isinstance(node, dict):
            filled = _same_lines(node)
            for key, value in node.items():
                new = self._text(str(key), loc, filling)
                filled[new] = self._filled(value, (*loc, key), filling)
                _copy_key_line(node, key, filled, new)
            return filled
        if isinstance(node, list):
            items = CommentedSeq(
                self._filled(item, (*loc, number), filling) for number, item in enumerate(node)
            )
            for number in range(len(node)):
                _set_line(items, number, node.lc.item(number)[0] if isinstance(node, CommentedSeq) else 0)
            return items
        return self._text(node, loc, filling) if isinstance(node, str) else node

    def _text(self, text: str, loc: tuple[Any, ...], filling: Mapping[str, Any]) -> Any:
        if not filling:
            return text
        if (whole := _GAP.fullmatch(text)) and whole[1] in filling:
            return filling[whole[1]]
        if unknown := [gap for gap in _GAP.findall(text) if gap not in filling]:
            known = ", ".join(f"{{{gap}}}" for gap in filling)
            raise self._error(f"nothing fills {{{unknown[0]}}}", loc, f"here there is {known}")
        return _GAP.sub(lambda gap: str(filling[gap[1]]), text)

    def _needs(self, block: Any, kind: str, loc: tuple[Any, ...]) -> None:
        keys, also = BLOCKS[kind]
        listed = ", ".join((*keys, *also))
        if not isinstance(block, dict):
            raise self._error("this is no block", loc, f"it is written with {listed}")
        lacking = [key for key in keys if not block.get(key)]
        strange = [key for key in block if key not in (*keys, *also)]
        if lacking or strange:
            what = f"lacks {lacking[0]}" if lacking else f"does not know {strange[0]}"
            raise self._error(f"this block {what}", loc, f"it is written with {listed}")
        for key, (shape, called) in SHAPES.items():
            if not isinstance(block.get(key) or shape(), shape):
                raise self._error(f"{key} is not {called}", (*loc, key), f"write it as {called}")

    def _error(self, what: str, loc: tuple[Any, ...], do: str) -> ProcedureError:
        return ProcedureError(what, where=place(self._data, loc, self._name), do=do)


def _ended(step: Any, names: set[str], ending: str, differing: Mapping[str, Any]) -> Any:
    """Give a block's step what differs in it, and its own name; so also where it rests on another of the block."""
    if not isinstance(step, dict) or "step" not in step:
        return step
    for key, value in (differs := differing.get(str(step["step"]), {})).items():
        step[key] = value
        _copy_key_line(differs, key, step, key)
    step["step"] = _with_ending(str(step["step"]), ending)
    if isinstance(written := step.get("rests_on"), list | str):
        listed = [written] if isinstance(written, str) else written
        step["rests_on"] = [
            _with_ending(str(each), ending) if str(each) in names else each for each in listed
        ]
    return step


def _with_ending(name: str, ending: str) -> str:
    """Give a step's name its ending, once: a sub-procedure in a repeat may have given the same one already."""
    return name if name.endswith(f"-{ending}") else f"{name}-{ending}"


def _ending(value: Any) -> str:
    return re.sub(r"[^a-z0-9]+", "-", str(value).lower()).strip("-")


def _joined(groups: Any, more: Any) -> Any:
    """Put groups together; what is none is left for the model to tell."""
    if groups is not None and not isinstance(groups, dict):
        return groups
    whole = CommentedMap()
    _update(whole, groups or {})
    _update(whole, more)
    return whole


def _update(into: Any, groups: Any) -> None:
    for key, value in groups.items():
        into[key] = value
        _copy_key_line(groups, key, into, key)


def _same_lines(node: Any) -> Any:
    """Give an empty map that knows the lines of another."""
    copied = CommentedMap()
    if isinstance(node, CommentedMap):
        copied.lc.line, copied.lc.col = node.lc.line, node.lc.col
        copied.lc.data = dict(node.lc.data or {})
    return copied


def _copy_key_line(node: Any, key: Any, into: Any, new: Any) -> None:
    if isinstance(node, CommentedMap) and node.lc.data and key in node.lc.data:
        into._yaml_set_kv_line_col(new, node.lc.data[key])  # noqa: SLF001  (ruamel has no other door)


def _set_line(items: Any, number: int, line: int) -> None:
    items._yaml_set_idx_line_col(number, [line, 0])  # noqa: SLF001  (ruamel has no other door)
