import math
from itertools import combinations
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.torque.draw import draw
from assistant.torque.group import FastenerGroup
from assistant.torque.ledger import PositionRecord, Standing

SVG = "{http://www.w3.org/2000/svg}"


def _drawn(records: dict[int, PositionRecord] | None = None, **written: Any) -> ET.Element:
    return ET.fromstring(draw(FastenerGroup.model_validate(written), records or {}))  # noqa: S314 (our own text)


def _position(sheet: ET.Element, number: int) -> ET.Element:
    found = sheet.find(f"{SVG}g[@id='position-{number}']")
    assert found is not None
    return found


def _words(element: ET.Element) -> list[str]:
    return [text.text or "" for text in element.iter(f"{SVG}text")]


def test_every_position_has_its_number_and_word() -> None:
    """Numbers and states can be read without any shade."""
    sheet = _drawn({2: PositionRecord(standing=Standing.SNUG)}, name="cover", layout={"circle": 4})
    assert [_words(_position(sheet, n)) for n in (1, 2)] == [["1", "not touched"], ["2", "snug"]]


def test_a_plan_says_nothing_of_how_far_it_is() -> None:
    """Where no job is open, a position has its number and what is planned there, and no state at all."""
    group = FastenerGroup.model_validate(
        {"name": "cover", "count": 2, "lengths": {1: "80 mm"}, "centring": [2], "stages": []}
    )
    sheet = ET.fromstring(draw(group))  # noqa: S314 (our own text)
    assert [_words(_position(sheet, n)) for n in (1, 2)] == [["1", "80 mm"], ["2", "centring tool"]]
    assert "not touched" not in draw(group)


@pytest.mark.parametrize("standing", list(Standing))
def test_every_state_has_its_own_shape(standing: Standing) -> None:
    """No two states share their outline, so that shade alone never tells them apart."""

    def outline(of: Standing) -> str:
        record = PositionRecord(standing=of, stage=1, stages=3)
        drawn = _position(_drawn({1: record}, count=1), 1)
        return "".join(ET.tostring(part, "unicode") for part in drawn if part.tag != f"{SVG}text")

    assert all(outline(standing) != outline(other) for other in Standing if other is not standing)


def test_the_order_is_arrows_and_turns() -> None:
    """Between n positions run n - 1 arrows, and each position has its turn beside it."""
    sheet = _drawn(layout={"circle": 6})
    assert len(sheet.findall(f"{SVG}path[@class='a']")) == 5
    assert [text.text for text in sheet.findall(f"{SVG}text[@class='o']")] == [f"{n}." for n in range(1, 7)]


def test_an_arrow_reaches_the_rim_unless_words_stand_below() -> None:
    """Of two in a column, the upper one second: the arrow ends at its rim, or lower where words are in the way."""

    def gap(**written: Any) -> float:
        group = FastenerGroup.model_validate({"layout": {"rectangle": "2x1"}, "order": [2, 1], **written})
        sheet = ET.fromstring(draw(group))  # noqa: S314 (our own text)
        circle = _position(sheet, 1).find(f"{SVG}circle")
        [arrow] = sheet.findall(f"{SVG}path[@class='a']")
        assert circle is not None
        return float(arrow.attrib["d"].split()[-1]) - float(circle.attrib["cy"]) - 24

    assert gap() < 10
    assert gap(lengths={1: "80 mm"}) > 20


LAYOUTS = (
    *({"circle": count} for count in range(3, 25)),
    *({"line": count} for count in range(3, 9)),
    *({"rectangle": f"{rows}x{columns}"} for rows in (2, 3) for columns in range(2, 7)),
)


def _curves(sheet: ET.Element) -> list[list[tuple[float, float]]]:
    """Give each arrow as the points that it goes through."""
    curves = []
    for path in sheet.findall(f"{SVG}path[@class='a']"):
        numbers = [
            float(number) for number in (path.get("d") or "").replace("M", "").replace("Q", "").split()
        ]
        ends = list(zip(numbers[::2], numbers[1::2], strict=True))
        curves.append([_on_curve(ends, 0.025 * part) for part in range(41)])
    return curves


def _on_curve(ends: list[tuple[float, float]], part: float) -> tuple[float, float]:
    weights = ((1 - part) ** 2, 2 * part * (1 - part), part**2)
    return sum(w * x for w, (x, _) in zip(weights, ends, strict=True)), sum(
        w * y for w, (_, y) in zip(weights, ends, strict=True)
    )


@pytest.mark.parametrize("layout", LAYOUTS, ids=str)
def test_no_arrow_goes_through_a_position(layout: dict[str, Any]) -> None:
    """An arrow that went behind a position would seem to end or to begin there."""
    sheet = _drawn(layout=layout)
    numbers = [str(n) for n in range(1, 25) if sheet.find(f"{SVG}g[@id='position-{n}']") is not None]
    discs = [_position(sheet, int(number)).find(f"{SVG}circle") for number in numbers]
    middles = [(float(disc.get("cx", "")), float(disc.get("cy", ""))) for disc in discs if disc is not None]
    assert len(middles) == len(numbers)
    near = min(math.dist(point, middle) for curve in _curves(sheet) for point in curve for middle in middles)
    assert near >= 24


def test_no_arrow_ends_under_a_turn() -> None:
    """An arrow that comes from the upper right ends before the turn that stands there."""
    sheet = _drawn(layout={"points": [[0, 0], [80, 60]]}, order=[2, 1])
    (curve,) = _curves(sheet)
    turn = sheet.findall(f"{SVG}text[@class='o']")[1]
    assert turn.text == "2."
    assert math.dist(curve[-1], (float(turn.get("x", "")), float(turn.get("y", "")))) > 12


def test_no_order_no_arrows() -> None:
    """Where any order will do, none is drawn."""
    assert _drawn(count=6).findall(f"{SVG}path[@class='a']") == []


def test_stages_lengths_tools_and_left_hand_threads_are_told() -> None:
    """What differs at a position stands there in words, what holds for all in the title."""
    records = {
        1: PositionRecord(standing=Standing.STAGE, stage=2, stages=3),
        2: PositionRecord(standing=Standing.HAND, holds="tool"),
    }
    sheet = _drawn(records, count=2, name="pump", thread="M8", left_hand=True, lengths={1: "80 mm"})
    assert _words(_position(sheet, 1)) == ["1", "stage 2 of 3", "80 mm"]
    assert _words(_position(sheet, 2)) == ["2", "centring tool"]
    assert "pump (M8, left-hand thread)" in _words(sheet)


def test_the_legend_shows_what_occurs() -> None:
    """States that do not occur are not explained."""
    assert "doubtful" not in _words(_drawn(count=2))
    assert "doubtful" in _words(_drawn({1: PositionRecord(standing=Standing.DOUBTFUL)}, count=2))


def test_names_are_escaped() -> None:
    """A name with markup in it stays a name."""
    assert _words(_drawn(count=1, name="a<b>&c"))[0] == "a<b>&c"


@given(
    points=st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), min_size=1, max_size=12, unique=True)
)
def test_positions_never_touch_and_lie_on_the_sheet(points: list[tuple[int, int]]) -> None:
    """Any layout is spread until its positions are apart, and the sheet is large enough for it."""
    sheet = _drawn(layout={"points": [list(point) for point in points]})
    _, _, width, height = (float(side) for side in sheet.attrib["viewBox"].split())
    centres = []
    for number in range(1, len(points) + 1):
        circle = _position(sheet, number).find(f"{SVG}circle")
        assert circle is not None
        centres.append((float(circle.attrib["cx"]), float(circle.attrib["cy"])))
    assert all(0 < x < width and 0 < y < height for x, y in centres)
    assert all(math.dist(a, b) > 2 * 24 for a, b in combinations(centres, 2))
