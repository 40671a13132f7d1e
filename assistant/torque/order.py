"""In which order the fasteners of a group are tightened, and where they lie.

Positions are numbered from 1: round a circle clockwise from the top, a rectangle row by row from
the top left, a line from the left. Points are (x to the right, y upwards). Every order is a tuple
of positions, each of them once.
"""

import math
from collections.abc import Callable, Sequence
from typing import TypeAlias

from assistant.errors import TorqueError

Point: TypeAlias = tuple[float, float]
Order: TypeAlias = tuple[int, ...]

# Points whose distances from the centre differ by less than this share of the largest lie on one ring.
_RING_WIDTH = 0.02
_PAIR = 2


def circle(count: int) -> Order:
    """Give the cross (star) pattern for a circle of `count`: opposite, then a quarter further.

    Multiples of four follow the cross pattern of ASME PCC-1; other even numbers go from pair to
    pair of opposites; odd numbers draw the star whose every step goes nearly across.
    Raises TorqueError for a count below one.
    """
    _positive(count)
    if count % 4 == 0:
        steps = (0, count // 2, count // 4, 3 * count // 4)
        return tuple(1 + start + step for start in _quarter(count // 4) for step in steps)
    if count % 2 == 0:
        half = count // 2
        stride = max(1, (half - 1) // 2)
        return tuple(1 + (i * stride) % half + across for i in range(half) for across in (0, half))
    stride = max(1, (count - 1) // 2)
    return tuple(1 + (i * stride) % count for i in range(count))


_NUMERIC_QUARTER = 3


def _quarter(count: int) -> Order:
    """Give the order, from 0, in which the places of the first quarter take their turn."""
    if count % 2 == 0:
        return tuple(place for start in _quarter(count // 2) for place in (start, start + count // 2))
    if count <= _NUMERIC_QUARTER:
        return tuple(range(count))
    return (*range(0, count, 2), *range(1, count, 2))


def rectangle(rows: int, columns: int) -> Order:
    """Give the order for a cylinder head of `rows` by `columns`: a spiral from the centre outwards."""
    return from_points(rectangle_points(rows, columns))


def two_rows(columns: int) -> Order:
    """Give the spiral from the centre outwards for two rows of `columns`."""
    return rectangle(2, columns)


def line(count: int) -> Order:
    """Give the order for a line of `count`: from the middle outwards, the two sides in turn."""
    return centre_out(line_points(count))


def from_points(points: Sequence[Point]) -> Order:
    """Give a cross pattern where all points lie on one ring, else a spiral from the centre outwards.

    Raises TorqueError where there are none, or two in one place.
    """
    rings = _rings(points)
    return crosswise(points) if len(rings) == 1 else centre_out(points)


def crosswise(points: Sequence[Point]) -> Order:
    """Take the points round their centre as if on a circle, and give its cross pattern."""
    clockwise = _clockwise(points, _distinct(points))
    return tuple(clockwise[place - 1] for place in circle(len(points)))


def centre_out(points: Sequence[Point]) -> Order:
    """Give a spiral: ring after ring from the centre, clockwise, going on near where the last ring ended."""
    order: list[int] = []
    for ring in _rings(points):
        order += _turned(points, ring, order[-1]) if order else ring
    return tuple(order)


def alternate_ends(points: Sequence[Point]) -> Order:
    """Give the order for a cover: from one end to the other, diagonally, working inwards."""
    places = _distinct(points)
    width, height = (max(side) - min(side) for side in zip(*points, strict=True))
    along, across = (0, 1) if width >= height else (1, 0)
    left = sorted(places, key=lambda p: (points[p - 1][along], -points[p - 1][across]))
    right = left[::-1]
    taken = [place for pair in zip(left, right, strict=True) for place in pair]
    return tuple(dict.fromkeys(taken))


def loosening(order: Sequence[int]) -> Order:
    """Give the order in which to loosen: the other way round."""
    return tuple(reversed(order))


def circle_points(count: int) -> tuple[Point, ...]:
    """Place `count` positions on a circle of radius 1, clockwise from the top."""
    _positive(count)
    angles = (2 * math.pi * i / count for i in range(count))
    return tuple((round(math.sin(a), 9), round(math.cos(a), 9)) for a in angles)


def rectangle_points(rows: int, columns: int) -> tuple[Point, ...]:
    """Place rows by columns on a grid of pitch 1, row by row from the top left."""
    _positive(min(rows, columns))
    return tuple((float(column), float(-row)) for row in range(rows) for column in range(columns))


def line_points(count: int) -> tuple[Point, ...]:
    """Place `count` positions from left to right, at a pitch of 1."""
    return rectangle_points(1, count)


#: The orders that an author may name instead of listing one.
PATTERNS: dict[str, Callable[[Sequence[Point]], Order]] = {
    "derived": from_points,
    "crosswise": crosswise,
    "centre-out": centre_out,
    "alternate-ends": alternate_ends,
}


def _positive(count: int) -> None:
    if count < 1:
        raise TorqueError(f"{count} positions have no order", do="give one or more")


def _distinct(points: Sequence[Point]) -> list[int]:
    _positive(len(points))
    if len(set(points)) < len(points):
        raise TorqueError("two positions lie in one place", do="give each its own coordinates")
    return list(range(1, len(points) + 1))


def _centre(points: Sequence[Point]) -> Point:
    xs, ys = zip(*points, strict=True)
    return math.fsum(xs) / len(xs), math.fsum(ys) / len(ys)


def _rings(points: Sequence[Point]) -> list[list[int]]:
    """Sort positions into rings round the centre, the innermost first, each ring clockwise."""
    places, centre = _distinct(points), _centre(points)
    away = {place: math.dist(points[place - 1], centre) for place in places}
    width = _RING_WIDTH * max(away.values())
    rings: list[list[int]] = []
    for place in sorted(places, key=lambda p: (round(away[p], 6), p)):
        if rings and away[place] - away[rings[-1][0]] <= width:
            rings[-1].append(place)
        else:
            rings.append([place])
    return [_clockwise(points, ring) for ring in rings]


def _clockwise(points: Sequence[Point], places: Sequence[int]) -> list[int]:
    """Sort some of the positions clockwise round the centre of all, beginning with the lowest number."""
    x, y = _centre(points)
    turned = sorted(places, key=lambda p: math.atan2(points[p - 1][0] - x, points[p - 1][1] - y))
    first = turned.index(min(places))
    return turned[first:] + turned[:first]


def _turned(points: Sequence[Point], ring: Sequence[int], last: int) -> list[int]:
    """Turn a ring so that it begins nearest to the `last` position; a mere pair begins across from it."""

    def gap(place: int) -> float:
        return round(math.dist(points[place - 1], points[last - 1]), 6)

    across = -1 if len(ring) == _PAIR else 1
    first = ring.index(min(ring, key=lambda place: (across * gap(place), place)))
    return [*ring[first:], *ring[:first]]
