import json
from pathlib import Path

import pytest

from tests.cli_torque.bench import SHOP, TODAY, Run, found_in, lines_of


def test_plan_gives_each_act_with_its_tool(run: Run) -> None:
    """A plan of the pump: every single act in its order, with the wrench of the shop and its setting."""
    found = found_in(run("plan", "pump.yaml", "pump bolts", "--json"))
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
    lines = lines_of(run("plan", "pump.yaml", "covers"))
    assert lines[0] == "covers: 2 positions"
    last = next(line for line in reversed(lines) if "turn" in line)
    assert "1/4 turn, until 18 lbf.ft, round 3 of 3, should click" in last
    assert "1 of 1, final" in last
    assert "middle: 24.5 N.m" in last


def test_share_is_exact_as_json_and_rounded_in_text(run: Run) -> None:
    """A share of a torque keeps its digits in JSON."""
    assert found_in(run("plan", "pump.yaml", "part way", "--json"))["acts"][0]["value"] == "66.066 lbf.in"
    assert "66.07 lbf.in" in run("plan", "pump.yaml", "part way").output
    assert "part way: 1 position\n" in run("plan", "pump.yaml", "part way").output


def test_plan_of_the_shipped_procedure(run: Run) -> None:
    """The shipped head goes through eight bolts four times."""
    result = run("plan", "generator-set-head", "head bolts", "--shop", "shop.yaml", "--json")
    assert [act["position"] for act in found_in(result)["acts"]] == [2, 3, 7, 6, 5, 1, 4, 8] * 4


def test_plan_counts_the_adapter_of_the_step_in(run: Run, tmp_path: Path) -> None:
    """What the wrench is set to is what the job will say, adapter and all."""
    step = "tighten: {group: covers, adapter: {length: 50 mm, angle: 180 deg}}"
    for name, old, new in (
        ("pump.yaml", "say: Fit it.}", f"say: Fit it., {step}}}"),
        ("shop.yaml", "resolution: 0.5 N.m", "resolution: 0.5 N.m\n    length: 300 mm"),
    ):
        (tmp_path / name).write_text((tmp_path / name).read_text().replace(old, new))
    assert found_in(run("plan", "pump.yaml", "covers", "--json"))["acts"][0]["tool"]["setting"] == "29.5 N.m"


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
    assert {act["tool"] for act in found_in(run("plan", "pump.yaml", "covers", "--json"))["acts"]} == {None}
    told = lines_of(run("plan", "pump.yaml", "covers"))
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
    told = [line for line in lines_of(run("plan", "pump.yaml", "covers"), 1) if line.startswith("Finding: ")]
    assert len(told) == 1
    assert finding in told[0]
    assert len(found_in(run("plan", "pump.yaml", "covers", "--json"), 1)["findings"]) == 1


def test_group_without_stages_is_a_finding(run: Run) -> None:
    """A group with nothing to do is told."""
    assert "no stages" in lines_of(run("plan", "pump.yaml", "bare"), 1)[-1]
