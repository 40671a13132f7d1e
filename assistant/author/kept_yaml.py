"""YAML that people wrote, changed by a program with their comments, their order and their way of writing kept."""

import io
import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.scalarstring import DoubleQuotedScalarString

from assistant.errors import ProcedureError
from assistant.procedure.load import FORM

_BLANK: Final = r"(?:[ ]*(?:#.*)?\n)*"
_LIST: Final = re.compile(
    rf"^(?P<under> *)[\w\"'][^#\n]*:[ ]*(?:#.*)?\n{_BLANK}(?P<item> *)-(?P<gap> +)\S", re.MULTILINE
)
_MAP: Final = re.compile(
    rf"^(?P<under> *)[\w\"'][^#\n]*:[ ]*(?:#.*)?\n{_BLANK}(?P<deeper>(?P=under) +)[\w\"']", re.MULTILINE
)
_COMMENT: Final = re.compile(r"(?:^|\s)(#.*)$", re.MULTILINE)
_NEVER: Final = 1_000_000
"""So wide that no line is folded anew."""


def load(text: str) -> Any:
    """Read YAML with all that a program does not need: comments, quotes, order."""
    return _yaml(text).load(text)


def dump(data: Any, like: str = "") -> str:
    """Write YAML; lists are indented as in the text it was read from."""
    out = io.StringIO()
    _yaml(like).dump(data, out)
    return out.getvalue()


def flow(value: Any) -> Any:
    """Give a value as it stands on one line: {torque: 8 N.m}, [1, 3, 2]."""
    if isinstance(value, Mapping):
        inline = CommentedMap((key, flow(item)) for key, item in value.items())
        inline.fa.set_flow_style()
        return inline
    if isinstance(value, list | tuple):
        items = CommentedSeq(flow(item) for item in value)
        items.fa.set_flow_style()
        return items
    return value


def flow_text(value: Any) -> str:
    """Write a value on one line."""
    return dump(flow(value)).replace("\n...\n", "").strip()


def quoted(text: str) -> str:
    """Give text that is written between double quotes, whatever is in it."""
    text_between: str = DoubleQuotedScalarString(text)
    return text_between


def merged(node: Any, new: Mapping[str, Any]) -> None:
    """Put new values into a map that was read, and leave alone what is already so."""
    for key, value in new.items():
        if isinstance(node.get(key), dict) and isinstance(value, Mapping) and not _is_flow(node[key]):
            merged(node[key], value)
        elif isinstance(node.get(key), list) and isinstance(value, list):
            _merge_list(node[key], value)
        elif key in node and node[key] != value:
            node[key] = value
        elif key not in node:
            node.insert(_before_last(node), key, value)


def _merge_list(node: Any, new: Sequence[Any]) -> None:
    del node[len(new) :]
    for value in new[len(node) :]:
        node.insert(_before_last(node), value)
    for number, value in enumerate(new):
        if node[number] != value:
            node[number] = value


def _before_last(node: Any) -> int:
    """Give the place before the last: what follows a section is kept as a comment of its last item."""
    return max(len(node) - 1, 0)


def with_groups(text: str, groups: Mapping[str, Any], name: str) -> str:
    """Give a procedure's text with these groups added, or changed where they are there already.

    Raises ProcedureError where the text cannot be read, with its line, or is no map of keys.
    """
    FORM.read(text, name)
    data = load(text)
    known = data.get("groups")
    if known and not _is_flow(known):
        merged(known, {key: group for key, group in groups.items() if key in known})
        more = {key: group for key, group in groups.items() if key not in known}
        changed = dump(data, like=text)
        if lost := [comment for comment in _COMMENT.findall(text) if comment not in changed]:
            raise ProcedureError(
                f"with this change the comment {lost[0]!r} would be lost",
                where=name,
                do="change that group by hand",
            )
        return _at_end_of(changed, "groups", more)
    if not known:
        _make_room(data)
    merged(data["groups"], groups)
    return dump(data, like=text)


def _make_room(data: CommentedMap) -> None:
    """Put an empty map of groups before the steps."""
    data.pop("groups", None)
    before = list(data).index("steps") if "steps" in data else len(data)
    data.insert(before, "groups", CommentedMap())
    if before < len(data) - 1:
        data.yaml_set_comment_before_after_key(list(data)[before + 1], before="\n")


def _at_end_of(text: str, section: str, more: Mapping[str, Any]) -> str:
    """Write more things at the end of a section, as lines: what stands behind it keeps its comments."""
    if not more:
        return text
    node, lines = load(text), text.splitlines(keepends=True)
    first = node.lc.key(section)[0] + 1
    last = next((n for n in range(first, len(lines)) if not re.match(r"\s|#|$", lines[n])), len(lines))
    while re.match(r"#|\s*$", lines[last - 1]):
        last -= 1
    inner = " " * node[section].lc.col
    written = dump(dict(more), like=text).splitlines(keepends=True)
    return "".join(
        (*lines[:last], *(inner + line if line.strip() else line for line in written), *lines[last:])
    )


def _is_flow(node: Any) -> bool:
    return isinstance(node, CommentedMap) and bool(node.fa.flow_style())


def _yaml(like: str) -> YAML:
    yaml = YAML(typ="rt")
    yaml.preserve_quotes = True
    yaml.width = _NEVER
    yaml.brace_single_entry_mapping_in_flow_sequence = True
    listed, mapped = _LIST.search(like), _MAP.search(like)
    offset = len(listed["item"]) - len(listed["under"]) if listed else 2
    gap = len(listed["gap"]) if listed else 1
    deeper = len(mapped["deeper"]) - len(mapped["under"]) if mapped else 2
    yaml.indent(mapping=deeper, sequence=offset + 1 + gap, offset=offset)
    return yaml
