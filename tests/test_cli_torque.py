import datetime as dt
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from typer.testing import CliRunner, Result

from assistant.cli_torque import torque_app
from assistant.errors import AssistantError
from assistant.torque.order import circle, rectangle
from assistant.work import shop

TODAY = dt.datetime.now(dt.UTC).astimezone().date().isoformat()

SHOP = f"""\
wrenches:
  - name: inch pound
    say: the quarter-inch drive inch-pound wrench
    least: 20 lbf.in
    most: 200 lbf.in
    resolution: 1 lbf.in
    calibrated: {TODAY}
  - name: middle
    least: 5 N.m
    most: 60 N.m
    resolution: 0.5 N.m
    calibrated: {TODAY}
"""

PUMP = """\
procedure: A pump
revision: 1
demonstration: true
about: Invented, not for any real engine.
cautions: Wear eye protection.
groups:
  pump bolts:
    thread: 1/4-20
    class: SAE 8
    layout: {circle: 4}
    centring: [1, 3]
    stages: [hand, {centre: 45 lbf.in}, {replace: 45 lbf.in}, {torque: 110 lbf.in}]
  covers:
    layout: {line: 2}
    stages: [{rise: 1/4 turn, until: 18 lbf.ft, rounds: [2, 3], clicks: true}]
  part way:
    count: 1
    stages: [{share: 66 %}, {torque: 100.1 lbf.in}]
  bare:
    count: 2
steps:
  - {step: fit, say: Fit it.}
"""

Run = Callable[..., Result]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command in a folder of its own, as a user with a shop of two wrenches and one procedure."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.setattr(shop, "user_config", lambda: tmp_path)
    monkeypatch.setattr(shop, "user_data", lambda: tmp_path)
    (tmp_path / "shop.yaml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "pump.yaml").write_text(PUMP, encoding="utf-8")
    return lambda *args: CliRunner().invoke(torque_app, args)


def _found(result: Result, code: int = 0) -> dict[str, Any]:
    """Give the one JSON object of a clean command."""
    assert result.exit_code == code, result.output
    (line,) = result.output.splitlines()
    found: dict[str, Any] = json.loads(line)
    return found


def _lines(result: Result, code: int = 0) -> list[str]:
    assert result.exit_code == code, result.output
    return result.output.splitlines()


def test_conversion_is_rounded_in_text_and_exact_as_json(run: Run) -> None:
    """Text has four digits of a torque, JSON has them all."""
    assert _lines(run("convert", "110 in-lb", "N.m")) == ["110 lbf.in is about 12.43 N.m"]
    assert _found(run("convert", "110 in-lb", "N.m", "--json")) == {
        "value": "110 lbf.in",
        "in": {"N.m": "12.428331193037837 N.m"},
    }


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [
        ("0.035 in", "mm", "0.035 in = 0.889 mm"),
        ("1.0005 in", "mm", "1.0005 in = 25.4127 mm"),
        ("3 flats", "turn", "3 flat = 1/2 turn"),
        ("quarter turn", "deg", "1/4 turn = 90 deg"),
        ("90 min", "h", "90 min = 1.5 h"),
        ("1 lbf.in", "ozf.in", "1 lbf.in = 16 ozf.in"),
        ("12345.5 N.m", "N.m", "12345.5 N.m is about 12346 N.m"),
        ("2.0005 N.m", "N.m", "2.0005 N.m is about 2.001 N.m"),
    ],
)
def test_every_kind_of_quantity_is_converted(run: Run, value: str, unit: str, told: str) -> None:
    """Lengths, angles and times convert too; what is rounded is rounded half up and said to be about."""
    assert _lines(run("convert", value, unit)) == [told]


def test_without_a_unit_all_are_given(run: Run) -> None:
    """A torque without a wanted unit is told in every unit of torque."""
    found = _found(run("convert", "12 N.m", "--json"))["in"]
    assert {"N.m", "lbf.in", "lbf.ft", "kgf.m", "kgf.cm", "ozf.in"} <= set(found)
    assert len(_lines(run("convert", "12 N.m"))) == len(found)


def test_adapter_in_line_needs_a_lower_setting(run: Run) -> None:
    """An adapter in line with the handle lowers the setting; the text says which way it was worked out."""
    lines = _lines(run("adapter", "70 N.m", "--wrench", "300 mm", "--adapter", "50 mm"))
    assert lines[0] == "For 70 N.m at the fastener, set the wrench to 60 N.m."
    assert any("long thin extension" in line for line in lines)
    assert any("universal joint" in line for line in lines)


def test_adapter_runs_the_other_way_from_a_setting(run: Run) -> None:
    """From a setting, what the fastener gets is worked out."""
    lever = ("--wrench", "300 mm", "--adapter", "50 mm", "--from-setting")
    assert (
        _lines(run("adapter", "60 N.m", *lever))[0] == "Set to 60 N.m, the wrench gives the fastener 70 N.m."
    )
    found = _found(run("adapter", "60 N.m", *lever, "--json"))
    assert (found["from"], found["setting"], found["target"]) == ("setting", "60 N.m", "70 N.m")


@pytest.mark.parametrize("angle", ["90", "90 deg", "1/4 turn"])
def test_adapter_at_right_angles_changes_nothing(run: Run, angle: str) -> None:
    """At right angles nothing changes, and a length that is not known is only mentioned."""
    found = _found(run("adapter", "60 N.m", "--adapter", "50 mm", "--angle", angle, "--json"))
    assert (found["setting"], found["wrench"]) == ("60 N.m", None)
    assert "not known" in found["cautions"][0]


def test_order_and_its_properties_are_told(run: Run) -> None:
    """The order of a circle comes with what holds for it."""
    lines = _lines(run("order", "--circle", "8"))
    assert lines[0] == f"Tighten: {' '.join(map(str, circle(8)))}"
    assert "across" in lines[1]
    assert "no two neighbours" in lines[1]
    found = _found(run("order", "--rectangle", "2x4", "--json"))
    assert tuple(found["order"]) == rectangle(2, 4)
    assert all(found["properties"].values())


def test_property_that_does_not_hold_is_not_claimed(run: Run) -> None:
    """On a circle of four a neighbour must follow, and the text does not say otherwise."""
    assert "neighbours" not in run("order", "--circle", "4").output


def test_loosening_goes_the_other_way_round(run: Run) -> None:
    """The order of loosening is the one of tightening, reversed."""
    there = _found(run("order", "--line", "5", "--json"))["order"]
    back = _found(run("order", "--line", "5", "--loosen", "--json"))["order"]
    assert back == there[::-1]


def test_pattern_can_be_named(run: Run) -> None:
    """A cover is taken from its ends where that pattern is named."""
    found = _found(run("order", "--line", "5", "--pattern", "alternate-ends", "--json"))
    assert found["order"] == [1, 5, 2, 4, 3]


def test_order_of_points_in_a_file(run: Run, tmp_path: Path) -> None:
    """Coordinates in a file are ordered from the inside outwards."""
    (tmp_path / "p.csv").write_text("0,0\n100,0\n100,100\n0,100\n50,50\n", encoding="utf-8")
    assert _found(run("order", "--points", "p.csv", "--json"))["order"][0] == 5


def test_plan_gives_each_act_with_its_tool(run: Run) -> None:
    """A plan of the pump: every single act in its order, with the wrench of the shop and its setting."""
    found = _found(run("plan", "pump.yaml", "pump bolts", "--json"))
    acts = [(act["position"], act["what"], act["value"]) for act in found["acts"]]
    assert acts[2:6] == [
        (1, "centre", "45 lbf.in"),
        (3, "centre", "45 lbf.in"),
        (1, "replace", "45 lbf.in"),
        (3, "replace", "45 lbf.in"),
    ]
    assert found["acts"][-1]["tool"] == {
        "wrench": "inch pound",
        "say": "the quarter-inch drive inch-pound wrench",
        "setting": "110 lbf.in",
        "doubts": [],
    }
    assert found["acts"][-1]["final"]
    assert [act["number"] for act in found["acts"]] == list(range(1, len(acts) + 1))


def test_plan_is_readable(run: Run) -> None:
    """The text of a plan has a row for each act, with round, end and click of a rise."""
    lines = _lines(run("plan", "pump.yaml", "covers"))
    assert lines[0] == "covers: 2 positions"
    last = next(line for line in reversed(lines) if "turn" in line)
    assert "1/4 turn, until 18 lbf.ft, round 3 of 3, should click" in last
    assert "1 of 1, final" in last
    assert "middle: 24.5 N.m" in last


def test_share_is_exact_as_json_and_rounded_in_text(run: Run) -> None:
    """A share of a torque keeps its digits in JSON."""
    assert _found(run("plan", "pump.yaml", "part way", "--json"))["acts"][0]["value"] == "66.066 lbf.in"
    assert "66.07 lbf.in" in run("plan", "pump.yaml", "part way").output
    assert "part way: 1 position\n" in run("plan", "pump.yaml", "part way").output


def test_plan_of_the_shipped_procedure(run: Run) -> None:
    """The shipped head goes through eight bolts four times."""
    result = run("plan", "generator-set-head", "head bolts", "--shop", "shop.yaml", "--json")
    assert [act["position"] for act in _found(result)["acts"]] == [2, 3, 7, 6, 5, 1, 4, 8] * 4


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("110 lbf.in N.m", "110 lbf.in is about 12.43 N.m"),
        ("110 lbf.in to N.m", "110 lbf.in is about 12.43 N.m"),
        ("20 foot pounds newton metres", "20 lbf.ft is about 27.12 N.m"),
        ("110 in lb ft lb", "110 lbf.in is about 9.167 lbf.ft"),
        ("half turn deg", "1/2 turn = 180 deg"),
        ("1 1/2 turns deg", "1.5 turn = 540 deg"),
        ("-5 degC degF", "-5 degC = 23 degF"),
    ],
)
def test_what_is_converted_needs_no_quotation_marks(run: Run, typed: str, told: str) -> None:
    """A number, its unit and the unit wanted may come as so many words, and a temperature may be below zero."""
    assert _lines(run("convert", *typed.split())) == [told]


def test_a_torque_needs_no_quotation_marks(run: Run) -> None:
    """Who forgets the quotation marks around a torque or a grade gets the same answer."""
    for quoted in (
        ["judge", "M10", "8.8", "50 N.m"],
        ["adapter", "60 N.m", "--adapter", "50 mm", "--angle", "90"],
    ):
        bare = [word for each in quoted for word in (each.split() if each.endswith("N.m") else [each])]
        assert run(*bare, "--json").output == run(*quoted, "--json").output
    quoted = ["judge", "1/4-20", "SAE grade 5", "110 lbf.in", "--json"]
    bare = ["judge", "1/4-20", "SAE", "grade", "5", "110", "lbf.in", "--json"]
    assert _found(run(*bare)) == _found(run(*quoted))


def test_both_spellings_of_aluminium_are_read(run: Run) -> None:
    """The metal is the same on both sides of the ocean."""
    judged = _found(run("judge", "M10", "8.8", "45 N.m", "--material", "Aluminum", "--json"))
    assert judged["material"] == "aluminium"


def test_plan_counts_the_adapter_of_the_step_in(run: Run, tmp_path: Path) -> None:
    """What the wrench is set to is what the job will say, adapter and all."""
    step = "tighten: {group: covers, adapter: {length: 50 mm, angle: 180 deg}}"
    for name, old, new in (
        ("pump.yaml", "say: Fit it.}", f"say: Fit it., {step}}}"),
        ("shop.yaml", "resolution: 0.5 N.m", "resolution: 0.5 N.m\n    length: 300 mm"),
    ):
        (tmp_path / name).write_text((tmp_path / name).read_text().replace(old, new))
    assert _found(run("plan", "pump.yaml", "covers", "--json"))["acts"][0]["tool"]["setting"] == "29.5 N.m"


def test_plan_finds_values_that_can_hardly_be_meant(run: Run, tmp_path: Path) -> None:
    """A slip of the unit in a procedure is a finding with its stage."""
    slip = {"count": 2, "thread": "1/4-20", "class": "SAE 5", "stages": ["snug", {"torque": "110 lbf.ft"}]}
    written = {
        "procedure": "Slip",
        "revision": 1,
        "about": "Invented.",
        "cautions": "None.",
        "groups": {"cover": slip},
    }
    steps = [{"step": "cover", "say": "Fit the cover.", "tighten": "cover"}]
    (tmp_path / "slip.yaml").write_text(json.dumps({**written, "steps": steps}))
    result = run("plan", "slip.yaml", "cover")
    assert result.exit_code == 1
    assert "stage 2: 110 lbf.ft on 1/4-20 SAE 5: looks like inch pounds" in result.output


def test_plan_without_a_shop_names_no_tool(run: Run, tmp_path: Path) -> None:
    """A user without a list of tools gets the plan without them, and no finding."""
    (tmp_path / "shop.yaml").unlink()
    assert {act["tool"] for act in _found(run("plan", "pump.yaml", "covers", "--json"))["acts"]} == {None}
    told = _lines(run("plan", "pump.yaml", "covers"))
    assert "tool and setting" not in "".join(told)
    assert told[-1].startswith("No wrench is chosen: list yours in ")


@pytest.mark.parametrize(
    ("old", "new", "finding"),
    [
        ("most: 60 N.m", "most: 20 N.m", "no wrench of the shop reaches 18 lbf.ft"),
        ("most: 60 N.m", "most: 160 N.m", "below a fifth of its full scale"),
        (
            f"    resolution: 0.5 N.m\n    calibrated: {TODAY}\n",
            "    resolution: 0.5 N.m\n",
            "no calibration date",
        ),
        (
            f"resolution: 0.5 N.m\n    calibrated: {TODAY}",
            "resolution: 0.5 N.m\n    calibrated: 1999-01-01",
            "months ago",
        ),
    ],
)
def test_tool_that_does_not_suit_is_a_finding(
    run: Run, tmp_path: Path, old: str, new: str, finding: str
) -> None:
    """A value out of every range, a doubted wrench or an old calibration is told once, with exit code 1."""
    assert old in SHOP
    (tmp_path / "shop.yaml").write_text(SHOP.replace(old, new), encoding="utf-8")
    told = [line for line in _lines(run("plan", "pump.yaml", "covers"), 1) if line.startswith("Finding: ")]
    assert len(told) == 1
    assert finding in told[0]
    assert len(_found(run("plan", "pump.yaml", "covers", "--json"), 1)["findings"]) == 1


def test_group_without_stages_is_a_finding(run: Run) -> None:
    """A group with nothing to do is told."""
    assert "no stages" in _lines(run("plan", "pump.yaml", "bare"), 1)[-1]


def test_plausible_torque_is_clean(run: Run) -> None:
    """A value that can be meant exits 0."""
    assert "plausible" in _lines(run("judge", "1/4-20", "SAE 5", "110 lbf.in", "--condition", "dry"))[0]


def test_slip_of_the_unit_is_a_finding(run: Run) -> None:
    """Foot pounds where inch pounds were meant exit 1 and are named."""
    lines = _lines(run("judge", "1/4-20", "SAE 5", "110 lbf.ft"), 1)
    assert "looks like inch pounds written as foot pounds" in lines[0]
    found = _found(run("judge", "1/4-20", "SAE 5", "110 lbf.ft", "--json"), 1)
    assert (found["finding"], found["meant"]) == ("unit slip", "110 lbf.in")


def test_short_engagement_in_aluminium_bears_less(run: Run) -> None:
    """A thread that engages little in aluminium is judged by what strips it."""
    value = ("judge", "M8", "8.8", "25 N.m", "--material", "aluminium")
    assert _found(run(*value, "--json"))["usual_engagement"] == "16 mm"
    assert _found(run(*value, "--engagement", "4 mm", "--json"), 1)["finding"] == "beyond proof"


def test_drawing_is_written(run: Run, tmp_path: Path) -> None:
    """The drawing is an SVG file with every position."""
    assert _lines(run("draw", "generator-set-head", "head bolts", "--out", "new/h.svg")) == ["new/h.svg"]
    drawn = ET.fromstring((tmp_path / "new" / "h.svg").read_text(encoding="utf-8"))  # noqa: S314 (our own)
    ids = {element.get("id") for element in drawn.iter()}
    assert {f"position-{number}" for number in range(1, 9)} <= ids
    found = _found(run("draw", "pump.yaml", "covers", "--out", "c.svg", "--json"))
    assert (found["positions"], found["out"]) == (2, "c.svg")


ERRORS = [
    (["convert", "3,5", "mm", "in"], "write the decimals after a point"),
    (["convert", "9" * 40, "N.m"], "no value that can be meant"),
    (["convert", "110"], "write its unit"),
    (["convert", "18", "lbs", "N.m"], "write lbf.ft or lbf.in"),
    (["judge", "1/4-20", "SAE", "5"], "not a number with a unit"),
    (["judge", "1/4", "SAE 5", "110 lbf.in"], "write 1/4-20 or 1/4-28"),
    (["draw", "pump.yaml", "covers", "--out", "."], "that is a folder"),
    (["convert", "110 lbf.in", "mm"], "the units of torque are N.m"),
    (["convert", "110 lbf.in", "foo"], "lbf.in, lbf.ft"),
    (["adapter", "60 N.m", "--adapter", "50 mm"], "measure from its square"),
    (["adapter", "60 N.m", "--adapter", "50"], "such as 50 mm"),
    (["adapter", "0 N.m", "--adapter", "50 mm"], "above zero"),
    (["adapter", "60 mm", "--adapter", "50 mm"], "write it in N.m"),
    (["adapter", "60 N.m", "--adapter", "50 mm", "--angle", "steep"], "12 deg"),
    (["order"], "--circle 8, --rectangle 2x4, --line 4, or --points FILE"),
    (["order", "--circle", "4", "--line", "4"], "one layout, and 2 are given"),
    (["order", "--circle", "0"], "--circle 8"),
    (["order", "--rectangle", "two by four"], "--rectangle 2x4"),
    (["order", "--line", "4", "--pattern", "star"], "crosswise, centre-out, alternate-ends"),
    (["order", "--points", "none.csv"], "there is no such file"),
    (["plan", "pump.yaml", "bolts"], "it has pump bolts, covers"),
    (["plan", "nothing", "bolts"], "generator-set-head"),
    (["plan", "pump.yaml", "covers", "--shop", "none.yaml"], "there is no such file"),
    (["judge", "M9", "8.8", "12 N.m"], "write M8"),
    (["judge", "M8", "7.7", "12 N.m"], "SAE 5"),
    (["judge", "M8", "8.8", "12"], "write its unit"),
    (["judge", "M8", "8.8", "12 N.m", "--condition", "wet"], "dry"),
    (["judge", "M8", "8.8", "12 N.m", "--material", "wood"], "steel, cast iron, aluminium"),
    (["judge", "M8", "8.8", "12 N.m", "--engagement", "9 mm"], "--material aluminium"),
    (["judge", "M8", "8.8", "12 N.m", "--engagement", "0 mm", "--material", "cast-iron"], "above zero"),
    (["draw", "pump.yaml", "covers", "--out", "pump.yaml/x.svg"], "check the path"),
]


@pytest.mark.parametrize(("args", "told"), ERRORS, ids=[" ".join(args) for args, _ in ERRORS])
def test_mistake_names_what_is_accepted(run: Run, args: list[str], told: str) -> None:
    """Each mistake is an error of ours, in one line, that says what to write."""
    result = run(*args)
    assert isinstance(result.exception, AssistantError), result.output
    assert told in str(result.exception)
    assert "\n" not in str(result.exception)
    assert result.output == ""
