import pytest

from assistant.errors import AssistantError
from tests.cli_torque.bench import Run

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
