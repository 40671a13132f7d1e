from pathlib import Path
from xml.etree import ElementTree as ET

from assistant.torque.order import circle, rectangle
from tests.cli_torque.bench import Run, found_in, lines_of


def test_order_and_its_properties_are_told(run: Run) -> None:
    """The order of a circle comes with what holds for it."""
    lines = lines_of(run("order", "--circle", "8"))
    assert lines[0] == f"Tighten: {' '.join(map(str, circle(8)))}"
    assert "across" in lines[1]
    assert "no two neighbours" in lines[1]
    found = found_in(run("order", "--rectangle", "2x4", "--json"))
    assert tuple(found["order"]) == rectangle(2, 4)
    assert all(found["properties"].values())


def test_property_that_does_not_hold_is_not_claimed(run: Run) -> None:
    """On a circle of four a neighbour must follow, and the text does not say otherwise."""
    assert "neighbours" not in run("order", "--circle", "4").output


def test_loosening_goes_the_other_way_round(run: Run) -> None:
    """The order of loosening is the one of tightening, reversed."""
    there = found_in(run("order", "--line", "5", "--json"))["order"]
    back = found_in(run("order", "--line", "5", "--loosen", "--json"))["order"]
    assert back == there[::-1]


def test_pattern_can_be_named(run: Run) -> None:
    """A cover is taken from its ends where that pattern is named."""
    found = found_in(run("order", "--line", "5", "--pattern", "alternate-ends", "--json"))
    assert found["order"] == [1, 5, 2, 4, 3]


def test_order_of_points_in_a_file(run: Run, tmp_path: Path) -> None:
    """Coordinates in a file are ordered from the inside outwards."""
    (tmp_path / "p.csv").write_text("0,0\n100,0\n100,100\n0,100\n50,50\n", encoding="utf-8")
    assert found_in(run("order", "--points", "p.csv", "--json"))["order"][0] == 5


def test_drawing_is_written(run: Run, tmp_path: Path) -> None:
    """The drawing is an SVG file with every position."""
    assert lines_of(run("draw", "generator-set-head", "head bolts", "--out", "new/h.svg")) == ["new/h.svg"]
    drawn = ET.fromstring((tmp_path / "new" / "h.svg").read_text(encoding="utf-8"))  # noqa: S314 (our own)
    ids = {element.get("id") for element in drawn.iter()}
    assert {f"position-{number}" for number in range(1, 9)} <= ids
    found = found_in(run("draw", "pump.yaml", "covers", "--out", "c.svg", "--json"))
    assert (found["positions"], found["out"]) == (2, "c.svg")
