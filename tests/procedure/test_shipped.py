from collections import Counter
from collections.abc import Iterator

import pytest

from assistant.procedure.load import examples, find_procedure, load_procedure, read_text
from assistant.procedure.model import Procedure
from assistant.procedure.route import route_through
from assistant.torque.values import doubted_values

SHIPPED = {name: load_procedure(find_procedure(name)) for name in examples()}


def _asked(procedure: Procedure) -> Iterator[str]:
    for step in procedure.steps:
        yield step.action
        yield from (key for key in ("helper", "caution", "use", "put_in", "take_out") if getattr(step, key))
        if step.rests_on is not None:
            yield "rests_on"
        if step.check and step.check.hold:
            yield "hold point"


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_procedure_is_a_demonstration(name: str) -> None:
    """It says of itself that it is one, in its text and to the mechanic, and warns before anything is touched."""
    procedure = SHIPPED[name]
    assert procedure.demonstration
    assert "not for any real" in procedure.about
    assert "invented" in procedure.about
    assert procedure.cautions


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_values_can_be_meant(name: str) -> None:
    """No torque of a shipped procedure looks like a slip, or like more than its fasteners bear."""
    assert not [found for group in SHIPPED[name].groups.values() for found in doubted_values(group)]


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_tools_come_out_and_kit_goes_in(name: str) -> None:
    """Every tool that goes in is taken out later, every part of the kit is used, every group tightened to its end."""
    procedure = SHIPPED[name]
    goes_in, comes_out = Counter[str](), Counter[str]()
    for step in procedure.steps:
        goes_in.update(step.put_in)
        comes_out.update(step.take_out)
    assert goes_in == comes_out
    assert set(goes_in) == set(procedure.tools)
    used = {part for step in procedure.steps for part in (*step.use, *step.take_off, *step.put_back)}
    assert used == set(procedure.parts)
    for group in procedure.groups.values():
        steps = [step for step in procedure.steps if step.tighten and step.tighten.group == group.name]
        route = route_through(procedure)
        assert {number for step in steps for number, _ in route.acts(step)} == set(
            range(len(route.plans[group.name]))
        )


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_procedure_has_a_short_way(name: str) -> None:
    """The short route is shorter than the whole, and every shipped procedure ends with a first start."""
    whole, short = route_through(SHIPPED[name]), route_through(SHIPPED[name], "short")
    assert len(short.steps) < len(whole.steps)
    assert SHIPPED[name].first_start


def test_demonstration_uses_every_thing_that_can_be_written() -> None:
    """The generator set's head shows each kind of step, a repeat, a sub-procedure, and a first start."""
    asked = set(_asked(SHIPPED["generator-set-head"]))
    assert asked >= {
        "do",
        "tighten",
        "measure",
        "wait",
        "check",
        "decide",
        "hold point",
        "helper",
        "rests_on",
    }
    assert asked >= {"caution", "use", "put_in", "take_out"}
    text = read_text(find_procedure("generator-set-head"))
    assert "- repeat:" in text
    assert "- do:" in text
    assert any(step.when for step in SHIPPED["generator-set-head"].steps)
