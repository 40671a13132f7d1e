import pytest

from tests.cli_torque.bench import Run, found_in, lines_of


def test_conversion_is_rounded_in_text_and_exact_as_json(run: Run) -> None:
    """Text has four digits of a torque, JSON has them all."""
    assert lines_of(run("convert", "110 in-lb", "N.m")) == ["110 lbf.in is about 12.43 N.m"]
    assert found_in(run("convert", "110 in-lb", "N.m", "--json")) == {
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
    assert lines_of(run("convert", value, unit)) == [told]


def test_without_a_unit_all_are_given(run: Run) -> None:
    """A torque without a wanted unit is told in every unit of torque."""
    found = found_in(run("convert", "12 N.m", "--json"))["in"]
    assert {"N.m", "lbf.in", "lbf.ft", "kgf.m", "kgf.cm", "ozf.in"} <= set(found)
    assert len(lines_of(run("convert", "12 N.m"))) == len(found)


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
    assert lines_of(run("convert", *typed.split())) == [told]


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
    assert found_in(run(*bare)) == found_in(run(*quoted))


def test_adapter_in_line_needs_a_lower_setting(run: Run) -> None:
    """An adapter in line with the handle lowers the setting; the text says which way it was worked out."""
    lines = lines_of(run("adapter", "70 N.m", "--wrench", "300 mm", "--adapter", "50 mm"))
    assert lines[0] == "For 70 N.m at the fastener, set the wrench to 60 N.m."
    assert any("long thin extension" in line for line in lines)
    assert any("universal joint" in line for line in lines)


def test_adapter_runs_the_other_way_from_a_setting(run: Run) -> None:
    """From a setting, what the fastener gets is worked out."""
    lever = ("--wrench", "300 mm", "--adapter", "50 mm", "--from-setting")
    assert (
        lines_of(run("adapter", "60 N.m", *lever))[0]
        == "Set to 60 N.m, the wrench gives the fastener 70 N.m."
    )
    found = found_in(run("adapter", "60 N.m", *lever, "--json"))
    assert (found["from"], found["setting"], found["target"]) == ("setting", "60 N.m", "70 N.m")


@pytest.mark.parametrize("angle", ["90", "90 deg", "1/4 turn"])
def test_adapter_at_right_angles_changes_nothing(run: Run, angle: str) -> None:
    """At right angles nothing changes, and a length that is not known is only mentioned."""
    found = found_in(run("adapter", "60 N.m", "--adapter", "50 mm", "--angle", angle, "--json"))
    assert (found["setting"], found["wrench"]) == ("60 N.m", None)
    assert "not known" in found["cautions"][0]


def test_plausible_torque_is_clean(run: Run) -> None:
    """A value that can be meant exits 0."""
    assert "plausible" in lines_of(run("judge", "1/4-20", "SAE 5", "110 lbf.in", "--condition", "dry"))[0]


def test_slip_of_the_unit_is_a_finding(run: Run) -> None:
    """Foot pounds where inch pounds were meant exit 1 and are named."""
    lines = lines_of(run("judge", "1/4-20", "SAE 5", "110 lbf.ft"), 1)
    assert "looks like inch pounds written as foot pounds" in lines[0]
    found = found_in(run("judge", "1/4-20", "SAE 5", "110 lbf.ft", "--json"), 1)
    assert (found["finding"], found["meant"]) == ("unit slip", "110 lbf.in")


def test_short_engagement_in_aluminium_bears_less(run: Run) -> None:
    """A thread that engages little in aluminium is judged by what strips it."""
    value = ("judge", "M8", "8.8", "25 N.m", "--material", "aluminium")
    assert found_in(run(*value, "--json"))["usual_engagement"] == "16 mm"
    assert found_in(run(*value, "--engagement", "4 mm", "--json"), 1)["finding"] == "beyond proof"


def test_both_spellings_of_aluminium_are_read(run: Run) -> None:
    """The metal is the same on both sides of the ocean."""
    judged = found_in(run("judge", "M10", "8.8", "45 N.m", "--material", "Aluminum", "--json"))
    assert judged["material"] == "aluminium"
