"""An author's mistakes about values, each with its line."""

import pytest

from assistant.errors import ProcedureError
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import route_through

TEXT = """procedure: Bearing
revision: 1
about: A bush and its shaft.
cautions: Lock it.
steps:
  - step: bore
    say: Measure the bore.
    measure: {name: bore, what: the bore, unit: mm, gauge: 0.005 mm, readings: 3}
  - step: shaft
    say: Measure the shaft.
    measure: {name: shaft, what: the shaft, unit: mm, most: bore - 0.01 mm}
  - step: clearance
    say: Work out the clearance.
    work_out: {name: clearance, what: the clearance, value: bore - shaft, least: 0.02 mm, most: bore / 300}
  - step: shim
    say: Choose the shim.
    work_out:
      name: shim
      what: the shim
      value: clearance - 0.01 mm
      sizes: [0.10 mm, 0.15 mm]
      leaves: {what: the rest, value: clearance - shim, most: 0.02 mm}
routes:
  whole: [bore, shaft, clearance]
"""


def test_values_are_read_and_rest_on_one_another() -> None:
    """Each value has its formulas, and its step rests on the steps that give its numbers."""
    route = route_through(parse_procedure(TEXT, name="t"))
    assert route.givers == {"bore": "bore", "shaft": "shaft", "clearance": "clearance", "shim": "shim"}
    assert all(route.rests("clearance", on) for on in ("bore", "shaft"))


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("bore - shaft", "bore - shft", 14, "uses 'shft', which no step measures"),
        ("bore - shaft", "bore - shim", 14, "known only after step shim"),
        ("bore - shaft", "bore - clearance", 14, "which it gives itself"),
        ("bore - shaft", "bore * shaft", 14, r"is a length\^2, and mm is not a unit of that"),
        ("bore - shaft", "bore - 3 N.m", 14, "a length and a torque cannot be taken from one another"),
        ("bore - shaft", "bore ** shaft", 14, "only \\+ - \\* / are known"),
        ("bore - shaft", "open(bore)", 14, "no such function"),
        ("bore / 300", "bore / 0", 14, "divided by nothing"),
        ("bore / 300", "0.05 mmm", 14, "the unit 'mmm'"),
        ("bore / 300", "0.05", 14, "bare number"),
        ("least: 0.02 mm", "least: 0.02 N.m, unit: mm", 14, "not in a unit like mm"),
        ("name: shaft", "name: Shaft 1", 11, "not a name that can be spoken"),
        ("name: shaft", "name: max", 11, "a meaning of its own"),
        ("name: shaft", "name: bore", 11, "two values are named 'bore'"),
        ("unit: mm, most", "most", 11, "its unit shows nowhere"),
        ("readings: 3", "readings: 0", 8, "readings"),
        ("clearance - shim,", "clearance - shin,", 22, "uses 'shin'"),
        ("      sizes: [0.10 mm, 0.15 mm]\n", "      unit: mm\n", 17, "sizes and leaves belong together"),
        (", most: 0.02 mm}\nr", ", unit: mm}\nr", 17, "needs a limit"),
        ("sizes: [0.10 mm", "sizes: [0.10 N.m", 17, "one kind of quantity"),
        ("[bore, shaft, cl", "[shaft, cl", 24, "leaves out step bore"),
        ("{name: bore, what: the bore, unit: mm,", "{what: the bore,", 8, "needs a limit"),
    ],
)
def test_mistake_is_told_with_its_line(old: str, new: str, line: int, said: str) -> None:
    """Names that are not there, units that do not fit, and what is no formula are found when the file is read."""
    assert old in TEXT
    with pytest.raises(ProcedureError, match=said) as raised:
        parse_procedure(TEXT.replace(old, new, 1), name="t")
    assert f"t, line {line}" in str(raised.value)


def test_temperature_is_measured_and_not_worked_with() -> None:
    """A temperature has no zero to add from; its limits are written out."""
    text = TEXT.replace(
        "{name: bore, what: the bore, unit: mm, gauge: 0.005 mm, readings: 3}",
        "{name: bore, what: the oil, unit: degC}",
    )
    with pytest.raises(ProcedureError, match="cannot be"):
        parse_procedure(text, name="t")
