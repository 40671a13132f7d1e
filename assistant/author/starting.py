"""A starting file: what an author answers to a few questions, as a commented procedure that passes its check."""

import json
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from pydantic import ValidationError

from assistant.author.kept_yaml import flow_text
from assistant.errors import ProcedureError
from assistant.procedure.plain_words import refused
from assistant.procedure.review.table import review
from assistant.torque.group import FastenerGroup
from assistant.torque.values import doubted_values

CAUTION: Final = "Battery off, load supported, hot parts cool, springs treated as loaded, eye protection on."
"""What is warned of where an author says nothing."""

SCHEMA: Final = "procedure.schema.json"
"""The file of the schema that stands beside a new procedure."""


@dataclass(frozen=True, kw_only=True)
class Start:
    """What an author answered: the job's title, the machine and where it begins, what to mind, the fasteners."""

    title: str
    about: str
    cautions: tuple[str, ...] = (CAUTION,)
    groups: tuple[FastenerGroup, ...] = ()


Ask = Callable[[str, str], str]
"""Puts a question with the answer that counts where none is given, and gives the answer."""


def asked(ask: Ask, say: Callable[[str], None]) -> Start:
    """Ask for everything; what cannot be is said, and asked again."""
    while not (title := ask("What is the job called?", "").strip()):
        say("give it a name, such as: Water pump")
    about = ask("On which machine, and in which state does it begin?", "Write it here.")
    cautions = tuple(_listed(ask, "What must be safe before anything is touched? (empty ends)"))
    groups = tuple(_groups(ask, say))
    return Start(title=title, about=about, cautions=cautions or (CAUTION,), groups=groups)


def _listed(ask: Ask, question: str) -> Iterable[str]:
    while answer := ask(question, "").strip():
        yield answer


def _groups(ask: Ask, say: Callable[[str], None]) -> Iterable[FastenerGroup]:
    for name in _listed(
        ask, "Which fasteners are tightened? One name at a time, such as: cover screws (empty ends)"
    ):
        if group := _group(ask, say, name):
            yield group


def _group(ask: Ask, say: Callable[[str], None], name: str) -> FastenerGroup | None:
    """Ask for one group until it can be, or is given up; all of it may stand in its name already."""
    text = name
    while True:
        try:
            if ":" in text:
                return group_of(text)
        except ProcedureError as error:
            say(str(error))
        name = name.partition(":")[0].strip()
        question = f"The {name}: how many, thread, class, final torque? (a dash: none after all)"
        words = ask(question, "4, M6, 8.8, 8 N.m").strip()
        if words == "-":
            return None
        text = words if words.startswith(f"{name}:") else f"{name}: {words}"


def group_of(text: str) -> FastenerGroup:
    """Read "cover screws: 4, M6, 8.8, 8 N.m"; thread and class may be left out, or be a dash.

    Raises ProcedureError where it cannot be.
    """
    name, colon, rest = text.partition(":")
    parts = [part.strip() for part in rest.split(",")]
    if not (colon and name.strip()) or len(parts) not in {2, 4}:
        raise ProcedureError(f"{text!r} is no group", do='write it so: "cover screws: 4, M6, 8.8, 8 N.m"')
    count, thread, class_, torque = (parts[0], "-", "-", parts[1]) if len(parts) == 2 else parts  # noqa: PLR2004
    known = {key: value for key, value in (("thread", thread), ("class", class_)) if value not in {"", "-"}}
    written: dict[str, Any] = {
        "name": name.strip(),
        "count": count,
        **known,
        "stages": ["snug", {"torque": torque}],
    }
    try:
        group = FastenerGroup.model_validate(written)
    except ValidationError as error:
        told = refused(error.errors()[0])
        raise ProcedureError(f"{name.strip()}: {told.what}", do=told.do) from error
    for doubted in doubted_values(group):
        raise ProcedureError(f"{name.strip()}: {doubted.verdict.text}", do="look into the manual again")
    return group


def written(start: Start) -> str:
    """Write the starting file. Raises ProcedureError where what was answered has a finding, such as a slip of units."""
    names = tuple(_step_names(group.name for group in start.groups))
    text: str = _template().render(start=start, schema=SCHEMA, step_names=names, quote=_quote, keys=_keys)
    for row in review(text, start.title):
        if row.level != "advice":
            raise ProcedureError(row.what, where=row.file, do=row.do)
    return text


def _keys(group: FastenerGroup) -> Sequence[tuple[str, str]]:
    """Give the keys of a group, each with its value as it is written on one line."""
    dumped = group.model_dump(mode="json", by_alias=True, exclude_defaults=True, exclude={"name", "stages"})
    return [(key, _quote(value) if key == "class" else flow_text(value)) for key, value in dumped.items()]


def _step_names(names: Iterable[str]) -> Iterable[str]:
    """Give each group a step's name of its own: of its letters and digits, else of its number."""
    taken = {"make-safe", "look-over"}
    for number, name in enumerate(names, start=1):
        slug = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")
        free = slug if slug and slug not in taken else f"{slug or 'group'}-{number}"
        taken.add(free)
        yield free


def _quote(text: str) -> str:
    """Write text between double quotes; what JSON writes, YAML reads."""
    return json.dumps(text, ensure_ascii=False)


@cache
def _template() -> Any:
    environment = Environment(  # noqa: S701  (YAML, not a page)
        loader=PackageLoader("assistant.author"),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return environment.get_template("start.yaml")
