import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import TorqueError
from assistant.torque.order import (
    Point,
    alternate_ends,
    centre_out,
    circle,
    circle_points,
    crosswise,
    from_points,
    line,
    line_points,
    loosening,
    rectangle,
    rectangle_points,
    two_rows,
)

coordinates = st.integers(min_value=-500, max_value=500).map(float)
point_sets = st.lists(st.tuples(coordinates, coordinates), min_size=1, max_size=30, unique=True)
grids = st.tuples(st.integers(min_value=1, max_value=6), st.integers(min_value=1, max_value=12))


def _apart(first: int, second: int, count: int) -> int:
    around = abs(first - second) % count
    return min(around, count - around)


@given(count=st.integers(min_value=1, max_value=80))
def test_a_circle_has_each_position_once(count: int) -> None:
    """A cross pattern leaves nothing out and takes nothing twice."""
    assert sorted(circle(count)) == list(range(1, count + 1))


@given(count=st.integers(min_value=5, max_value=80))
def test_no_neighbours_follow_each_other_on_a_circle(count: int) -> None:
    """From five positions up, the next one is never a neighbour of the last."""
    order = circle(count)
    assert all(_apart(a, b, count) > 1 for a, b in pairwise(order))


@given(count=st.integers(min_value=4, max_value=80))
def test_every_second_step_on_a_circle_goes_across(count: int) -> None:
    """Positions are taken in pairs that lie opposite, or next to opposite for odd counts."""
    order = circle(count)
    pairs = zip(order[::2], order[1::2], strict=False)
    assert all(_apart(a, b, count) == count // 2 for a, b in pairs)


@given(count=st.integers(min_value=1, max_value=48))
def test_a_circle_is_found_in_its_points(count: int) -> None:
    """The same pattern comes out whether the circle is named or given by coordinates."""
    assert from_points(circle_points(count)) == circle(count)


@given(points=point_sets)
def test_any_points_have_each_position_once(points: list[Point]) -> None:
    """Every derived order of any set of points is a permutation of its positions."""
    everything = list(range(1, len(points) + 1))
    for order in (from_points, centre_out, crosswise, alternate_ends):
        assert sorted(order(points)) == everything


@given(points=point_sets)
def test_centre_out_goes_outwards(points: list[Point]) -> None:
    """An outer position is never tightened before one that lies clearly further in."""
    xs, ys = zip(*points, strict=True)
    centre = (sum(xs) / len(xs), sum(ys) / len(ys))
    away = [math.dist(points[p - 1], centre) for p in centre_out(points)]
    ring = 0.02 * max(away)
    assert all(inner <= outer + ring + 1e-5 for i, inner in enumerate(away) for outer in away[i + 1 :])


@given(grid=grids)
def test_a_rectangle_goes_outwards(grid: tuple[int, int]) -> None:
    """On a cylinder head no column is reached before those between it and the middle."""
    rows, columns = grid
    first_visit: dict[float, int] = {}
    for turn, position in enumerate(rectangle(rows, columns)):
        column = abs((position - 1) % columns - (columns - 1) / 2)
        first_visit.setdefault(column, turn)
    visits = [first_visit[column] for column in sorted(first_visit)]
    assert visits == sorted(visits)


@given(count=st.integers(min_value=1, max_value=40))
def test_a_line_takes_its_sides_in_turn(count: int) -> None:
    """A line is tightened from its middle, never twice running on one side."""
    order = line(count)
    middle = (count + 1) / 2
    sides = [position > middle for position in order if position != middle]
    pairs = zip(sides[::2], sides[1::2], strict=False)
    assert sorted(order) == list(range(1, count + 1))
    assert all(a != b for a, b in pairs)


@given(count=st.integers(min_value=2, max_value=40))
def test_alternate_ends_go_from_end_to_end(count: int) -> None:
    """A cover in a line is taken at one end, then at the other."""
    assert alternate_ends(line_points(count))[:2] == (1, count)


def test_a_square_is_taken_diagonally() -> None:
    """Four corners are one ring, so they are tightened crosswise."""
    assert rectangle(2, 2) == (1, 4, 2, 3)
    assert alternate_ends(rectangle_points(2, 2)) == (1, 4, 3, 2)


def test_two_rows_spiral_from_the_middle() -> None:
    """A two-row head starts in its middle and winds outwards."""
    assert two_rows(4) == (2, 3, 7, 6, 5, 1, 4, 8)
    assert two_rows(5)[:2] == (3, 8)


@given(count=st.integers(min_value=1, max_value=40))
def test_loosening_goes_the_other_way_round(count: int) -> None:
    """What was tightened last is loosened first, and twice round is the order itself."""
    order = circle(count)
    assert loosening(order)[0] == order[-1]
    assert loosening(loosening(order)) == order


@pytest.mark.parametrize("make", [circle, line, circle_points, lambda n: rectangle(n, 3)])
def test_no_positions_have_no_order(make: object) -> None:
    """A count of nothing is refused."""
    with pytest.raises(TorqueError, match="0 positions have no order"):
        make(0)  # type: ignore[operator]


def test_two_positions_in_one_place_are_refused() -> None:
    """Coordinates that coincide are an author's mistake."""
    with pytest.raises(TorqueError, match="two positions lie in one place"):
        from_points([(0.0, 0.0), (1.0, 0.0), (0.0, 0.0)])


def test_a_circle_is_numbered_clockwise_from_the_top() -> None:
    """Position 1 is at the top, position 2 of four at the right."""
    assert circle_points(4) == ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, -0.0))
