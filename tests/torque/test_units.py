from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from assistant.errors import TorqueError
from assistant.torque.spellings import SYMBOLS, UNITS, plain
from assistant.torque.units import (
    Coordinate,
    Duration,
    Quantity,
    Torque,
    read_quantity,
)

values = st.decimals(min_value=-100_000, max_value=100_000, places=4, allow_nan=False, allow_infinity=False)
units = st.sampled_from(sorted(UNITS))
torque_units = st.sampled_from([symbol for symbol, unit in UNITS.items() if unit.dimension == "torque"])

WRITTEN = [
    ("12 N.m", "12 N.m"),
    ("12Nm", "12 N.m"),
    ("12 N·m", "12 N.m"),
    ("12 newton metres", "12 N.m"),
    ("12 newton-meters", "12 N.m"),
    ("110 lbf.in", "110 lbf.in"),
    ("110 in-lb", "110 lbf.in"),
    ("110 inch pounds", "110 lbf.in"),
    ("110 in lbs", "110 lbf.in"),
    ("18 lb-ft", "18 lbf.ft"),
    ("18 ft.lbf", "18 lbf.ft"),
    ("18 foot pounds", "18 lbf.ft"),
    ("6 kgf.m", "6 kgf.m"),
    ("6 mkg", "6 kgf.m"),
    ("60 kg-cm", "60 kgf.cm"),
    ("40 oz-in", "40 ozf.in"),
    ("0.035 in", "0.035 in"),
    ("0.035 inch", "0.035 in"),
    (".035 inches", "0.035 in"),
    ('0.035"', "0.035 in"),
    ("-2 thou", "-2 thou"),
    ("45 min", "45 min"),
    ("45 minutes", "45 min"),
    ("2 hours", "2 h"),
    ("1/4 turn", "1/4 turn"),
    ("quarter turn", "1/4 turn"),
    ("a quarter turn", "1/4 turn"),
    ("3 quarter turns", "3/4 turn"),
    ("three quarters of a turn", "3/4 turn"),
    ("half a turn", "1/2 turn"),
    ("1 1/2 turns", "1.5 turn"),
    ("1/6 turn", "1/6 turn"),
    ("2 flats", "2 flat"),
    ("90°", "90 deg"),
    ("90 degrees", "90 deg"),
    ("60 °C", "60 degC"),
    ("50 %", "50 %"),
    ("50 percent", "50 %"),
    ("12.50 mm", "12.50 mm"),
]


@pytest.mark.parametrize(("written", "canonical"), WRITTEN)
def test_common_spellings_are_read(written: str, canonical: str) -> None:
    """What people write is read, and written back in one canonical way."""
    assert str(read_quantity(written)) == canonical


MISTAKES = [
    ("12", "12 is a bare number; write its unit, such as 12 N.m"),
    ("12 Nn", "the unit 'Nn' of '12 Nn' is not known; write N.m if you mean that"),
    ("5 milimetres", "the unit 'milimetres' of '5 milimetres' is not known; write mm if you mean that"),
    ("12,5 N.m", "'12,5 N.m' has a comma in its number; write the decimals after a point"),
    ("1/0 turn", "1/0 divides by zero; write a number, such as 1/4"),
    ("N.m", "'N.m' is not a number with a unit; write it so: 12 N.m"),
    ("1e3 N.m", "the unit 'e3 N.m' of '1e3 N.m' is not known; write N.m if you mean that"),
    ("", "'' is not a number with a unit; write it so: 12 N.m"),
    (
        "18 pounds",
        "the unit 'pounds' of '18 pounds' may mean two torques; write lbf.ft or lbf.in, or lbf for a force",
    ),
    (
        "1" + "0" * 40 + " mm",
        f"'1{'0' * 40} mm' is no value that can be meant; count its digits, and write it again",
    ),
]


@pytest.mark.parametrize(("written", "message"), MISTAKES)
def test_a_mistake_says_what_to_write(written: str, message: str) -> None:
    """An unreadable quantity says what is wrong and what to write instead."""
    with pytest.raises(TorqueError) as caught:
        read_quantity(written)
    assert str(caught.value) == message


def test_the_wrong_dimension_is_refused() -> None:
    """A time where a torque is needed is refused, with the unit to write."""
    with pytest.raises(TorqueError, match=r"45 min is a time where a torque is needed; write it in N.m"):
        read_quantity("45 min", "torque")


def test_a_bare_number_asks_for_the_unit_of_its_field() -> None:
    """The example in the message measures what the field measures."""
    with pytest.raises(TorqueError, match="such as 3 mm"):
        read_quantity("3", "length")


def test_no_spelling_means_two_units() -> None:
    """Every spelling belongs to one unit."""
    claimed = [(plain(s), symbol) for symbol, unit in UNITS.items() for s in (symbol, *unit.spellings)]
    assert all(SYMBOLS[spelling] == symbol for spelling, symbol in claimed)


class _Model(BaseModel):
    torque: Torque
    gap: Coordinate | None = None
    wait: Duration | None = None


def test_a_model_reads_and_writes_text() -> None:
    """In JSON and in plain data, a quantity is the text that an author would write."""
    model = _Model.model_validate({"torque": "110 in-lb", "gap": "-0.1 mm", "wait": "45 min"})
    text = '{"torque":"110 lbf.in","gap":"-0.1 mm","wait":"45 min"}'
    assert (model.model_dump_json(), _Model.model_validate_json(text)) == (text, model)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"torque": 12}, "12 is a bare number"),
        ({"torque": "3 mm"}, "3 mm is a length where a torque is needed"),
        ({"torque": "-3 N.m"}, "above zero"),
        ({"torque": {"value": "3", "unit": "furlong"}}, "the unit furlong is not known"),
    ],
)
def test_a_model_reports_the_mistake(given: dict[str, object], message: str) -> None:
    """A model's error carries the reader's own words."""
    with pytest.raises(ValidationError, match=message):
        _Model.model_validate(given)


def test_the_schema_for_editors_is_text() -> None:
    """An editor is told that a quantity is written as text."""
    assert Quantity.model_json_schema()["type"] == "string"


def test_what_measures_something_else_is_not_converted() -> None:
    """A torque has no length in millimetres."""
    with pytest.raises(TorqueError, match=r"12 N.m is a torque and not a length"):
        read_quantity("12 N.m").to("mm")


@given(value=values, unit=units)
def test_text_round_trips(value: Decimal, unit: str) -> None:
    """Every quantity is read back from its own text, and from its JSON, unchanged."""
    quantity = Quantity(value=value, unit=unit)
    assert read_quantity(str(quantity)) == quantity
    assert Quantity.model_validate_json(quantity.model_dump_json()) == quantity


@given(value=values, there=torque_units, back=torque_units)
def test_conversion_round_trips(value: Decimal, there: str, back: str) -> None:
    """There and back gives the same number, to the 28 digits that are kept."""
    once = Quantity(value=value, unit=there).to(back).to(there)
    assert once.value == pytest.approx(value, rel=Decimal("1e-26"), abs=Decimal("1e-22"))


def test_quantities_compare_across_units() -> None:
    """A foot pound lies above an inch pound, whatever the numbers say."""
    assert read_quantity("2 lbf.ft") > read_quantity("20 lbf.in") >= read_quantity("1 lbf.ft")


def test_scaling_keeps_the_unit() -> None:
    """Half of a final value is given in its own unit."""
    assert str(read_quantity("35 N.m").scaled(Fraction(1, 2))) == "17.5 N.m"
