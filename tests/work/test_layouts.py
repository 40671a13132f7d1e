from pathlib import Path

import pytest

from assistant.errors import TorqueError
from assistant.torque.order import circle, circle_points, from_points, line_points, rectangle_points
from assistant.work.layouts import layout_in, layout_of, properties

SQUARE = ((0.0, 0.0), (25.4, 0.0), (25.4, 25.4), (0.0, 25.4))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("p.csv", "x,y\n# corners\n0,0\n1 in,0\n\n25.4, 25.4\n0 mm,1 in\n"),
        ("p.yaml", "points:\n  - [0, 0]\n  - [1 in, 0]\n  - [25.4, 25.4]\n  - [0, 1 in]\n"),
    ],
)
def test_points_are_read(tmp_path: Path, name: str, text: str) -> None:
    """Coordinates are millimetres unless a unit is written, in either kind of file."""
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    assert layout_in(path).placed() == SQUARE


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("p.csv", "0,0\n1,zz\n", "line 2: 1, zz is no point"),
        ("p.csv", "0,0\n\n1,2,3\n", "line 3: a point has two cells, and this line has 3"),
        ("p.csv", "0,0\n1,5 deg\n", "line 2: 1, 5 deg is no point"),
        ("p.csv", "0,0\n0,0\n", "two positions of the layout lie in one place"),
        ("p.csv", "x,y\n", "there are no points"),
        ("p.csv", "nan,0\n1,0\n", "point 1 lies at no place"),
        ("p.csv", "1e300,0\n1,0\n", "point 1 lies at no place"),
        (
            "p.yaml",
            "points:\n  - [0, 0]\n  - [1, q]\n",
            "line 3, column 9: points: 'q' is not a number with a unit",
        ),
        ("p.yaml", "- [0, 0]\n", "line 1: this is not a list of points; write x and y in each line"),
    ],
)
def test_points_that_make_no_sense_are_told(tmp_path: Path, name: str, text: str, told: str) -> None:
    """A mistake in a file of coordinates is told with its file and line."""
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(TorqueError) as caught:
        layout_in(path)
    assert str(path) in str(caught.value)
    assert told in str(caught.value)


@pytest.mark.parametrize(
    ("form", "value"), [("circle", 0), ("rectangle", "2by4"), ("rectangle", "0x4"), ("line", 10**9)]
)
def test_layout_that_cannot_be_is_refused(form: str, value: int | str) -> None:
    """A size that is none, or far too many, is refused before it is laid out."""
    with pytest.raises(TorqueError):
        layout_of(form, value)


@pytest.mark.parametrize("count", range(5, 25))
def test_cross_pattern_has_its_properties(count: int) -> None:
    """From five positions up, a cross pattern goes across and never to a neighbour."""
    assert all(properties(circle(count), circle_points(count)).values())


def test_order_round_the_circle_has_not() -> None:
    """An order that simply goes round is told to do neither."""
    told = properties(range(1, 9), circle_points(8))
    assert list(told.values()) == [True, False, False]


def test_inside_out_is_told_of_rings() -> None:
    """A spiral from the centre goes inside out, and the other way round it does not."""
    points = rectangle_points(2, 5)
    order = from_points(points)
    assert all(properties(order, points).values())
    assert list(properties(order[::-1], points).values()) == [True, False]


def test_two_positions_have_nothing_to_tell() -> None:
    """Of two positions only that each has its turn."""
    assert properties((1, 2), line_points(2)) == {"each position once": True}
    assert properties((1, 1), line_points(2)) == {"each position once": False}
