"""YAML text that people write, turned into a model, with every mistake told by file and line.

ruamel.yaml keeps the place of every key, and pydantic says by which keys it came to a mistake;
this module brings the two together, so that an author is told where to look and what to write.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Final, Generic, NamedTuple, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails
from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.constructor import RoundTripConstructor
from ruamel.yaml.error import YAMLError

from assistant.errors import AssistantError
from assistant.procedure.finding import Finding
from assistant.procedure.plain_words import refused
from assistant.procedure.yaml_faults import fault_of

M = TypeVar("M", bound=BaseModel)
KeyPath = tuple[str | int, ...]


class Position(NamedTuple):
    """A line and a column of a file, both from 1."""

    line: int
    column: int


# Where several forms are allowed, pydantic tells what is wrong for each; these say best what to write.
_TELLING: Final = {"value_error": 0, "literal_error": 1}


class _DatesAsText(RoundTripConstructor):
    """Leaves dates to the model, which tells a wrong one with its place."""


_DatesAsText.add_constructor("tag:yaml.org,2002:timestamp", lambda _, node: node.value)


@dataclass(frozen=True)
class Form(Generic[M]):
    """One kind of file: what it is read into, the error of its room, and how its mistakes call it."""

    model: type[M]
    error: type[AssistantError]
    called: str
    start: str

    def read(self, text: str, name: str) -> Any:
        """Read the text into keys that know their lines; `name` is the file to name in a mistake."""
        yaml = YAML(typ="rt")
        yaml.Constructor = _DatesAsText
        try:
            data = yaml.load(text)
        except YAMLError as error:
            fault = fault_of(error, text)
            where = f"{name}, line {fault.line}, column {fault.column}"
            raise self.error(f"this is not YAML: {fault.what}", where=where, do=fault.do) from error
        except RecursionError as error:
            what = "brackets or lines stand deeper in one another than anybody writes"
            raise self.error(what, where=f"{name}, line 1", do=f"write it flatter; {self.start}") from error
        if not isinstance(data, dict):
            raise self.error(f"this is not {self.called}", where=f"{name}, line 1", do=self.start)
        return data

    def fill(self, data: Any, name: str) -> M:
        """Make the model of what `read` gave."""
        if mistakes := self.mistakes(data):
            first = mistakes[0]
            raise self.error(first.what, where=place(data, first.path, name), do=first.do)
        return self.model.model_validate(_plain(data))

    def mistakes(self, data: Any) -> tuple[Finding, ...]:
        """Give every mistake in what `read` gave, one for each place, in the order in which to mend them."""
        try:
            self.model.model_validate(_plain(data))
        except ValidationError as error:
            details = _telling(error.errors(), data)
            return tuple(
                Finding(path=each["loc"], what=_what(each, data), do=self._remedy(each)) for each in details
            )
        return ()

    def _remedy(self, detail: ErrorDetails) -> str:
        if detail["type"] == "extra_forbidden":
            return self._likely_key(detail["loc"])
        return refused(detail).do

    def _likely_key(self, loc: KeyPath) -> str:
        """Propose the key that a misspelt one was probably meant to be."""
        if re.match(r"\d", str(loc[-1])):
            return "write a point in a number, not a comma; a list in [ ]"
        known = _keys(self.model, loc[:-1])
        close = get_close_matches(str(loc[-1]), known, n=1)
        return f"did you mean {close[0]}?" if close else f"known are {', '.join(sorted(known))}"


def place(data: Any, loc: KeyPath, name: str) -> str:
    """Name the file and the place to which the keys lead, as far down as the file has them."""
    line, column = position_of(data, loc)
    return f"{name}, line {line}, column {column}"


def position_of(data: Any, loc: KeyPath) -> Position:
    """Give the place to which the keys lead, as far down as the file has them."""
    places = [found for _, found in _walk(data, loc)]
    return places[-1] if places else Position(1, 1)


def _walk(data: Any, loc: KeyPath) -> Iterator[tuple[str | int, Position]]:
    """Give each key of the path that the file has, and its place; what pydantic put between is left out."""
    for key in loc:
        if isinstance(data, CommentedMap):
            written = next((known for known in data if str(known) == str(key)), None)
            if written is not None:
                known = (data.lc.data or {}).get(written)
                line, column = known[:2] if known else (data.lc.line, data.lc.col)
                yield key, Position(line + 1, column + 1)
                data = data[written]
        elif isinstance(data, CommentedSeq):
            # A list of names stands for keys without values, so that one of them is found by its name.
            at = data.index(key) if isinstance(key, str) and key in data else key
            if isinstance(at, int) and at < len(data):
                line, column = data.lc.item(at)
                yield key, Position(line + 1, column + 1)
                data = data[at]


def _telling(errors: list[ErrorDetails], data: Any) -> list[ErrorDetails]:
    """Choose of the errors at each place the one that tells most, in the order of the places.

    A misspelt key is told instead of what is missing for its sake.
    """
    misspelt = [error for error in errors if error["type"] == "extra_forbidden"]
    places: dict[tuple[Any, ...], list[ErrorDetails]] = {}
    for error in errors:
        if not _is_missing_for(error, misspelt):
            at = (*_walk(data, error["loc"]), error["loc"][-1] if error["type"] == "missing" else "")
            places.setdefault(at, []).append(error)
    return [
        min(there, key=lambda error: _TELLING.get(error["type"], len(_TELLING))) for there in places.values()
    ]


def _is_missing_for(error: ErrorDetails, misspelt: list[ErrorDetails]) -> bool:
    """Tell whether a key is only missing because it was written wrong beside."""
    beside = [str(each["loc"][-1]) for each in misspelt if each["loc"][:-1] == error["loc"][:-1]]
    return error["type"] == "missing" and bool(get_close_matches(str(error["loc"][-1]), beside, n=1))


def _plain(value: Any) -> Any:
    """Turn ruamel's node types into plain ones, which pydantic judges by their own types."""
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item) for item in value]
    return value


def _what(detail: ErrorDetails, data: Any) -> str:
    if detail["type"] == "extra_forbidden":
        return f"the key {detail['loc'][-1]} is not known here"
    message = refused(detail).what
    keys = " > ".join(key for key, _ in _walk(data, detail["loc"]) if isinstance(key, str))
    return f"{keys}: {message}" if keys else message


def _keys(model: type[BaseModel], loc: KeyPath) -> set[str]:
    """Name the keys of the model that stands at a path of keys."""
    for key in loc:
        if isinstance(key, str) and key in model.model_fields:
            model = _model_in(model.model_fields[key].annotation) or model
    return {field.alias or name for name, field in model.model_fields.items()}


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """Find the model inside an annotation such as tuple[Step, ...] or Mapping[str, Part]."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for inner in get_args(annotation) if (found := _model_in(inner))), None)
