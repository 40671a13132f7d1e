"""A torque table from a spreadsheet: each line one stage of one fastener; and back.

    fastener,count,thread,class,value,unit,order
    head bolts,8,M10x1.25,10.9,snug,,crosswise
    head bolts,,,,30,N.m,
    head bolts,,,,60,N.m,
    cover screws,4,M6,8.8,8,N.m,1 3 2 4

What is the same for all stages of a fastener is written in its first line. `value` is a number with its unit
beside it or behind it, a word (hand, snug, check), "back off 1" with its turns, or any stage as a procedure
writes it, such as {rise: 1/4 turn, until: seated}. Further columns may be named like the other keys of a group:
condition, layout, say, ...
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from pydantic import ValidationError
from pydantic_core import ErrorDetails
from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

from assistant.author.kept_yaml import flow, flow_text, quoted
from assistant.errors import ProcedureError, TorqueError
from assistant.procedure.plain_words import refused
from assistant.torque.group import FastenerGroup
from assistant.torque.stages import Stage
from assistant.torque.units import read_quantity

COLUMNS: Final = ("fastener", "count", "thread", "class", "value", "unit", "order")
_KEYS: Final = tuple(field.alias or name for name, field in FastenerGroup.model_fields.items())
_OWN: Final = ("name", "stages")
_DELIMITERS: Final = ";\t,"
_BY_DIMENSION: Final = {"torque": "torque", "angle": "angle", "share": "share"}
_BACK_OFF: Final = re.compile(r"back[ -]?off\s+(?P<value>.+)", re.IGNORECASE)
_TEXT: Final = ("thread", "class")
"""What is text even where it looks like a number."""

_DO: Final = f"write the columns {', '.join(COLUMNS)}"


@dataclass
class _Fastener:
    """One fastener while it is gathered: its keys, its stages, and the lines (from 1) that they stand in."""

    line: int
    keys: dict[str, Any] = field(default_factory=dict)
    stages: list[Any] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)


def groups_of(text: str, name: str) -> dict[str, Any]:
    """Make groups, as a procedure writes them, of a table; ProcedureError names the file's line."""
    found: dict[str, _Fastener] = {}
    for line, row in _rows(text, name):
        if not row["fastener"]:
            raise ProcedureError(
                "no fastener is named", where=f"{name}, line {line}", do="fill the first column"
            )
        fastener = found.setdefault(row["fastener"], _Fastener(line))
        _take(fastener, line, row, name)
    if not found:
        raise ProcedureError("the table has no lines", where=name, do=_DO)
    return {fastener: _group(fastener, gathered, name) for fastener, gathered in found.items()}


def _rows(text: str, name: str) -> Iterator[tuple[int, dict[str, str]]]:
    """Give the lines that are not empty, each with its number and its cells by column."""
    lines = text.removeprefix("\ufeff").splitlines()
    delimiter = max(_DELIMITERS, key=(lines or [""])[0].count)
    reader = csv.reader(lines, delimiter=delimiter)
    columns = [cell.strip().lower() for cell in next(reader, [])]
    _check_columns(columns, name)
    for cells in reader:
        if len(cells) > len(columns):
            raise ProcedureError(
                "there are more cells here than columns",
                where=f"{name}, line {reader.line_num}",
                do="put a cell that has a comma between quotes, or write a point in numbers",
            )
        row = dict.fromkeys(COLUMNS, "") | dict(zip(columns, (cell.strip() for cell in cells), strict=False))
        if any(row.values()):
            if delimiter != ",":
                row["value"] = re.sub(r"(\d),(\d)", r"\1.\2", row["value"])
            yield reader.line_num, row


def _check_columns(columns: list[str], name: str) -> None:
    unknown = [column for column in columns if column not in {*COLUMNS, *_KEYS} or column in _OWN]
    lacking = [column for column in ("fastener", "value") if column not in columns]
    if unknown or lacking:
        what = f"the column {unknown[0]!r} is not known" if unknown else f"the column {lacking[0]} is missing"
        also = ", ".join(key for key in _KEYS if key not in {*COLUMNS, *_OWN})
        raise ProcedureError(what, where=f"{name}, line 1", do=f"{_DO}; there may also be {also}")


def _take(fastener: _Fastener, line: int, row: Mapping[str, str], name: str) -> None:
    for column, cell in row.items():
        if not cell or column in {"fastener", "value", "unit"}:
            continue
        value = quoted(cell) if column in _TEXT else _READERS.get(column, _written)(cell, line, name)
        if fastener.keys.setdefault(column, value) != value:
            raise ProcedureError(
                f"{row['fastener']} has another {column} here ({cell}) than in line {fastener.line}",
                where=f"{name}, line {line}",
                do="make them agree, or give it a name of its own",
            )
    if row["value"]:
        fastener.stages.append(_stage(row["value"], row["unit"], line, name))
        fastener.lines.append(line)


def _order(cell: str, _line: int, _name: str) -> Any:
    numbers = re.findall(r"\d+", cell)
    return [int(number) for number in numbers] if numbers else cell.lower().replace(" ", "-")


_READERS: Final = {"order": _order}


def _stage(value: str, unit: str, line: int, name: str) -> Any:
    if value.startswith("{"):
        return _written(value, line, name)
    if back := _BACK_OFF.fullmatch(value):
        return {"back_off": f"{back['value']} {unit}".strip()}
    if not re.match(r"[-+.\d]", value):
        return value.lower()
    try:
        quantity = read_quantity(f"{value} {unit}".strip())
    except TorqueError as error:
        raise ProcedureError(error.what, where=f"{name}, line {line}", do=error.do) from error
    if quantity.dimension not in _BY_DIMENSION:
        raise ProcedureError(
            f"{quantity} is a {quantity.dimension}",
            where=f"{name}, line {line}",
            do="write a torque or an angle",
        )
    return {_BY_DIMENSION[quantity.dimension]: str(quantity)}


def _written(cell: str, line: int, name: str) -> Any:
    try:
        return YAML(typ="safe", pure=True).load(cell)
    except YAMLError as error:
        raise ProcedureError(
            f"{cell!r} cannot be read", where=f"{name}, line {line}", do="write it as in a procedure"
        ) from error


def _group(called: str, fastener: _Fastener, name: str) -> dict[str, Any]:
    """Give a group as it is written, once it is known to be one."""
    written = {**fastener.keys, "stages": fastener.stages}
    try:
        FastenerGroup.model_validate({"name": called, **written})
    except ValidationError as error:
        first = _telling(error)
        line = fastener.line
        match first["loc"]:
            case ("stages", int(number), *_):
                line = fastener.lines[number]
        told = refused(first)
        do = _DO if first["type"] == "missing" else told.do
        raise ProcedureError(f"{called}: {told.what}", where=f"{name}, line {line}", do=do) from error
    return {
        key: flow(value) if key != "stages" else [flow(stage) for stage in value]
        for key, value in written.items()
    }


def _telling(error: ValidationError) -> ErrorDetails:
    """Choose of what is wrong at the first place what names the words that are known there."""
    details = error.errors()
    key = details[0]["loc"][:1]
    return next(
        (each for each in details if each["type"] == "literal_error" and each["loc"][:1] == key), details[0]
    )


def table_of(groups: Mapping[str, FastenerGroup]) -> str:
    """Write groups as a table that `groups_of` reads back the same."""
    written = {
        name: group.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        for name, group in groups.items()
    }
    more = [
        key
        for key in _KEYS
        if key not in {*COLUMNS, *_OWN} and any(key in group for group in written.values())
    ]
    out = io.StringIO()
    table = csv.DictWriter(out, (*COLUMNS, *more), lineterminator="\n")
    table.writeheader()
    for name, group in written.items():
        table.writerows(_lines(name, group, groups[name].stages, more))
    return out.getvalue()


def _lines(
    name: str, group: Mapping[str, Any], stages: Iterable[Stage], more: list[str]
) -> Iterator[dict[str, str]]:
    keys = {key: _cell(group[key]) for key in ("count", "thread", "class", "order", *more) if key in group}
    cells = [_stage_cells(stage) for stage in stages] or [("", "")]
    for number, (value, unit) in enumerate(cells):
        yield {"fastener": name, "value": value, "unit": unit} | (keys if number == 0 else {})


def _cell(value: Any) -> str:
    if isinstance(value, list) and all(isinstance(item, int) for item in value):
        return " ".join(map(str, value))
    return value if isinstance(value, str) else flow_text(value)


def _stage_cells(stage: Stage) -> tuple[str, str]:
    written = stage.model_dump(mode="json", exclude_defaults=True)
    if written == {stage.form: True}:
        return stage.form, ""
    if (
        stage.value is not None
        and list(written) == [stage.form]
        and stage.form in {*_BY_DIMENSION, "back_off"}
    ):
        number, unit = str(stage.value).rsplit(" ", 1)
        return (f"back off {number}" if stage.form == "back_off" else number), unit
    return flow_text(written), ""
