"""Layouts as they are asked for on the command line, and what holds for an order of tightening."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from assistant.errors import TorqueError
from assistant.procedure.yaml_text import Form
from assistant.torque.layout import Layout
from assistant.torque.order import Point
from assistant.work.files import read_text

_FORMS: Final = "write --circle 8, --rectangle 2x4, --line 4, or --points FILE"
_POINTS: Final = "write x and y in each line of a CSV file, or points: [[0, 0], [25, 0]] in a YAML file"
_FORM: Final = Form(Layout, TorqueError, "a list of points", _POINTS)
_MOST: Final = 1000
_FARTHEST_MM: Final = 1e6
# Positions whose distances from the centre differ by no more than this share of the largest lie on one
# ring: the same as where orders are derived.
_RING_WIDTH: Final = 0.02
_OPPOSITE_WITHIN: Final = math.radians(60)
_FEWEST_TO_TELL: Final = 3


def only_one(asked: Mapping[str, int | str | Path | None]) -> tuple[str, int | str | Path, Layout]:
    """Give the one form of layout that was asked for, its size or file, and the layout itself.

    Raises TorqueError where none or several are, or it cannot be.
    """
    given = [(form, size) for form, size in asked.items() if size is not None]
    if len(given) != 1:
        raise TorqueError(f"an order is of one layout, and {len(given) or 'none'} are given", do=_FORMS)
    ((form, size),) = given
    return form, size, layout_in(size) if isinstance(size, Path) else layout_of(form, size)


def layout_of(form: str, value: int | str) -> Layout:
    """Make a layout of one of `circle`, `rectangle`, `line` and its size; TorqueError where it cannot be."""
    size = value.lower().replace("\N{MULTIPLICATION SIGN}", "x") if isinstance(value, str) else value
    if math.prod(int(side) for side in str(size).split("x") if side.strip().isdecimal()) > _MOST:
        raise TorqueError(f"a {form} of {value} is too many", do=f"give {_MOST} positions at the most")
    try:
        return Layout.model_validate({form: size})
    except ValidationError as error:
        raise TorqueError(f"a {form} of {value} cannot be", do=_FORMS) from error


def layout_in(path: Path) -> Layout:
    """Read coordinates from a file: CSV with x and y in each line, or YAML with `points`.

    Millimetres unless a unit is written; a CSV file may begin with names of its columns.
    Raises TorqueError naming file and line.
    """
    text = read_text(path, _POINTS)
    csv_file = path.suffix.lower() not in (".yaml", ".yml")
    layout = _from_csv(text, str(path)) if csv_file else _FORM.fill(_FORM.read(text, str(path)), str(path))
    places = layout.placed()
    if len(places) > _MOST:
        raise TorqueError("these are too many points", where=str(path), do=f"give {_MOST} at the most")
    for number, place in enumerate(places, start=1):
        if not all(abs(side) <= _FARTHEST_MM for side in place):
            raise TorqueError(f"point {number} lies at no place on a machine", where=str(path), do=_POINTS)
    return layout


def _from_csv(text: str, name: str) -> Layout:
    rows = list(_csv_rows(text, name))
    try:
        return Layout.model_validate({"points": [row for _, row in rows]})
    except ValidationError as error:
        loc = error.errors()[0]["loc"]
        index = next((part for part in loc if isinstance(part, int)), None)
        where = name if index is None else f"{name}, line {rows[index][0]}"
        raise TorqueError(_reason(error, rows, index), where=where, do=_POINTS) from error


def _csv_rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Give the line and the two cells of each point."""
    for number, line in enumerate(text.splitlines(), start=1):
        cells = [cell.strip() for cell in line.split(",")]
        if not any(cells) or cells[0].startswith("#") or [cell.lower() for cell in cells] == ["x", "y"]:
            continue
        if len(cells) != 2:  # noqa: PLR2004 (x and y)
            found = f"a point has two cells, and this line has {len(cells)}"
            raise TorqueError(found, where=f"{name}, line {number}", do=_POINTS)
        yield number, cells


def _reason(error: ValidationError, rows: Sequence[tuple[int, list[str]]], index: int | None) -> str:
    if not rows:
        return "there are no points"
    if index is None:
        return str(error.errors()[0]["msg"]).removeprefix("Value error, ")
    return f"{', '.join(rows[index][1])} is no point: each cell is a number, or a length with its unit"


def properties(order: Sequence[int], points: Sequence[Point]) -> dict[str, bool]:
    """Tell what holds for an order: text of each property, and whether it holds.

    Told of a ring of positions: every second step (the first, third, ...) goes across, within 60 degrees
    as three positions need, and no two neighbours follow each other; of positions in rings: none of an
    outer ring comes before one of an inner ring.
    """
    told = {"each position once": sorted(order) == list(range(1, len(points) + 1))}
    if len(points) < _FEWEST_TO_TELL:
        return told
    away = _distances(points)
    width = _RING_WIDTH * max(away)
    if max(away) - min(away) > width:
        farthest = accumulate((away[position - 1] for position in order), max)
        inside_out = all(
            far <= away[position - 1] + width for far, position in zip(farthest, order, strict=True)
        )
        return told | {"from the inside outwards, ring after ring": inside_out}
    return told | {text: holds(order, points) for text, holds in _ON_A_RING.items()}


def _centre(points: Sequence[Point]) -> Point:
    return math.fsum(x for x, _ in points) / len(points), math.fsum(y for _, y in points) / len(points)


def _distances(points: Sequence[Point]) -> list[float]:
    centre = _centre(points)
    return [math.dist(point, centre) for point in points]


def _bearings(points: Sequence[Point]) -> list[float]:
    x, y = _centre(points)
    return [math.atan2(point[0] - x, point[1] - y) for point in points]


def _goes_across(order: Sequence[int], points: Sequence[Point]) -> bool:
    bearings = _bearings(points)
    steps = [bearings[b - 1] - bearings[a - 1] for a, b in list(pairwise(order))[::2]]
    return all(math.cos(step + math.pi) >= math.cos(_OPPOSITE_WITHIN) - 1e-9 for step in steps)


def _no_neighbours(order: Sequence[int], points: Sequence[Point]) -> bool:
    bearings = _bearings(points)
    ring = sorted(order, key=lambda position: bearings[position - 1])
    neighbours = {frozenset(pair) for pair in pairwise([*ring, ring[0]])}
    return not any(frozenset(pair) in neighbours for pair in pairwise(order))


_ON_A_RING: Final[dict[str, Callable[[Sequence[int], Sequence[Point]], bool]]] = {
    "every second step goes across": _goes_across,
    "no two neighbours follow each other": _no_neighbours,
}
