import ast
from contextlib import suppress
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from assistant.errors import TorqueError
from assistant.measures.amounts import Amount
from assistant.measures.formula import Formula
from assistant.torque.units import Quantity, read_quantity

VALUES = {
    "bore": read_quantity("25.031 mm"),
    "shaft": read_quantity("0.985 in"),
    "end float": read_quantity("0.85 mm"),
    "travel": read_quantity("3.5 turn"),
    "pull": read_quantity("100 N"),
}


def worked(text: str, unit: str) -> str:
    """Work a formula out from the values above."""
    return str(Formula(text).value(VALUES, unit))


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("bore - shaft", "mm", "0.0120 mm"),
        ("bore-shaft", "mm", "0.0120 mm"),
        ("(bore + shaft) / 2", "mm", "25.025 mm"),
        ("bore - 25 mm", "mm", "0.031 mm"),
        ("bore - 0.985 in", "um", "12 um"),
        ("end_float * 2", "mm", "1.7 mm"),
        ("-end_float", "mm", "-0.85 mm"),
        ("bore - end float * 2", "mm", "23.331 mm"),
        ("abs(shaft - bore)", "mm", "0.012 mm"),
        ("min(bore, shaft)", "in", "0.985 in"),
        ("max(bore, shaft, 25 mm)", "mm", "25.031 mm"),
        ("mean(bore, bore, bore + 0.003 mm)", "mm", "25.032 mm"),
        ("travel * 1.5 mm / 1 turn", "mm", "5.25 mm"),
        ("pull * 200 mm", "N.m", "20 N.m"),
        ("end_float / 8.5 mm", "%", "10 %"),
        ("bore * 0.1 %", "mm", "0.025031 mm"),
    ],
)
def test_formula_is_worked_out_with_its_units(text: str, unit: str, value: str) -> None:
    """Units are carried and converted exactly, whatever they were measured in."""
    found, wanted = read_quantity(worked(text, unit)), read_quantity(value)
    assert (found.value, found.unit) == (wanted.value, wanted.unit)


@pytest.mark.parametrize(
    "text",
    [
        *("__import__('os')", "bore.unit", "bore ** shaft", "bore // 2", "bore % 2", "[bore]", "bore[0]"),
        *(
            "bore if (shaft) else pull",
            "lambda: 1",
            "bore < shaft",
            "bore and (shaft)",
            "not (bore)",
            "(x := bore)",
        ),
        *("bore; shaft", "bore\nshaft", "x = bore", "import (os)", "print(bore)", "min()", "min(*bore)"),
        *("abs(bore, shaft)", "min(bore, key=abs)", "f'{bore}'", "'bore'", "", "(", "2bore", "1.2.3", "N0"),
        *("bore + ", "{bore}", "bore in (shaft)", "True", "...", "min", "a" * 300),
    ],
)
def test_nothing_else_is_a_formula(text: str) -> None:
    """What is not on the list of what is allowed is refused when it is read, and never worked out."""
    if text == "min":  # a name like any other, and nobody can give a value that name
        assert Formula(text).names == ("min",)
        return
    with pytest.raises(ValidationError):
        Formula(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("bore + pull", "a length and a force cannot be added"),
        ("bore - 3 N.m", "a length and a torque cannot be taken from"),
        ("max(bore, 1 turn)", "a length and a angle cannot be compared"),
        ("bore / (bore - bore)", "divided by nothing"),
        ("bore - 3", "a length and a number cannot"),
        ("bore + missing", "cannot be worked out"),
    ],
)
def test_kinds_that_do_not_fit_are_an_error(text: str, said: str) -> None:
    """Lengths are not added to torques, bare numbers not to lengths, and nothing is divided by nothing."""
    with pytest.raises(TorqueError, match=said):
        worked(text, "mm")


def test_result_of_another_kind_is_an_error() -> None:
    """An area is no length."""
    with pytest.raises(TorqueError, match=r"length\^2 and not as a length"):
        worked("bore * shaft", "mm")


def test_names_are_given_as_they_are_spoken() -> None:
    """Once each, in their order, functions not among them."""
    assert Formula("max(end_float, bore) - bore / 2").names == ("end float", "bore")


NUMBERS = st.decimals(min_value=-1000, max_value=1000, places=4)
LEAVES = st.sampled_from(["one", "other", "third", "0.25 mm", "3 mm"])
SUMS = st.recursive(
    LEAVES,
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from("+-"), inner).map(lambda each: f"({each[0]} {each[1]} {each[2]})"),
        st.tuples(st.sampled_from(["min", "max"]), inner, inner).map(lambda e: f"{e[0]}({e[1]}, {e[2]})"),
        inner.map(lambda each: f"-{each}"),
        inner.map(lambda each: f"({each} * 3 / 7)"),
    ),
    max_leaves=8,
)


def by_hand(text: str, names: dict[str, Fraction]) -> Fraction:
    """Work a formula out a second way: a plain walk over Python's own tree, with fractions of millimetres."""

    def value(node: ast.expr) -> Fraction:
        match node:
            case ast.Name(id=name):
                return names[name]
            case ast.Constant(value=number):
                return Fraction(str(number))
            case ast.UnaryOp(operand=operand):
                return -value(operand)
            case ast.BinOp(left=left, op=op, right=right):
                a, b = value(left), value(right)
                return {
                    "Add": lambda: a + b,
                    "Sub": lambda: a - b,
                    "Mult": lambda: a * b,
                    "Div": lambda: a / b,
                }[type(op).__name__]()
            case ast.Call(func=ast.Name(id=name), args=args):
                return (min if name == "min" else max)(value(each) for each in args)
        raise AssertionError(ast.dump(node))

    return value(ast.parse(text.replace(" mm", ""), mode="eval").body)


@given(SUMS.filter(lambda text: len(text) <= 200), NUMBERS, NUMBERS, NUMBERS)
def test_formula_gives_what_a_second_account_gives(
    text: str, one: Decimal, other: Decimal, third: Decimal
) -> None:
    """Sums, smallest, largest and shares of lengths are exact, in whatever units the lengths came."""
    names = {"one": Fraction(one), "other": Fraction(other), "third": Fraction(third)}
    values = {
        "one": Quantity(value=one, unit="mm"),
        "other": Quantity(value=other * 1000, unit="um"),
        "third": Quantity(value=third, unit="mm"),
    }
    wanted = by_hand(text, names)
    assert abs(Formula(text).value(values, "mm").exact("mm") - wanted) <= abs(wanted) / 10**26


@given(st.text("abN019 .+-*/(),_mxinN[]{}'\":=<>!@#", max_size=40))
def test_any_text_is_a_formula_or_a_clear_mistake(text: str) -> None:
    """Whatever an author writes, it is either refused when read, or worked out, or told why not."""
    with suppress(ValidationError):
        formula = Formula(text)
        values = {name: Amount(Fraction(3, 2)) for name in formula.names}
        with suppress(TorqueError):
            assert isinstance(formula.amount(values).number, Fraction)


@pytest.mark.parametrize(
    ("text", "doubts", "doubt"),
    [
        ("bore - shaft", {"bore": "0.003 mm", "shaft": "4 um"}, "0.005 mm"),
        ("bore * 3", {"bore": "0.01 mm"}, "0.03 mm"),
        ("max(bore, 10 mm)", {"bore": "0.01 mm"}, "0.01 mm"),
        ("bore - shaft", {"bore": "0.01 mm"}, "0.01 mm"),
    ],
)
def test_uncertainties_of_inputs_add_as_squares(text: str, doubts: dict[str, str], doubt: str) -> None:
    """Three and four thousandths of a millimetre make five."""
    given_ = {name: read_quantity(each) for name, each in doubts.items()}
    found = Formula(text).doubt(VALUES, given_, "mm")
    assert found is not None
    assert found.value == read_quantity(doubt).value


def test_no_uncertainty_makes_none() -> None:
    """Where no input has one, the result has none."""
    assert Formula("bore - shaft").doubt(VALUES, {}, "mm") is None
