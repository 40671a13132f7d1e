import pytest

from assistant.errors import ProcedureError
from assistant.procedure.load import parse_procedure
from assistant.procedure.model import Procedure
from assistant.procedure.route import route_through
from assistant.procedure.things import USUAL_WAYS

HEAD = "procedure: A bench\nrevision: 1\nabout: A test.\ncautions: Care.\n"


def procedure(body: str) -> Procedure:
    """Make a procedure of what comes after its head."""
    return parse_procedure(HEAD + body, name="bench.yaml")


def test_tools_are_a_list_or_have_counts() -> None:
    """Names alone mean one of each; with counts there are as many."""
    steps = "steps: [{step: one, say: One.}]\n"
    assert {name: tool.count for name, tool in procedure(f"tools: [pin, rag]\n{steps}").tools.items()} == {
        "pin": 1,
        "rag": 1,
    }
    assert procedure(f"tools: {{rag: {{count: 3}}}}\n{steps}").tools["rag"].count == 3


def test_step_counts_what_it_uses_and_puts_in() -> None:
    """A name, a list, or names with how many of each."""
    made = procedure(
        "parts: {ring: {count: 4}}\ntools: {rag: {count: 2}, pin: {}}\n"
        "steps: [{step: one, say: One., use: {ring: 2}, put_in: {rag: 2, pin: 1}, take_out: [pin, rag, rag]}]\n"
    )
    assert made.steps[0].use == ("ring", "ring")
    assert made.steps[0].put_in == ("rag", "rag", "pin")
    assert made.steps[0].take_out == ("pin", "rag", "rag")


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (
            "parts: {rod: {}}\nsteps: [{step: one, say: One., take_off: rods}]\n",
            r"bench\.yaml, line 6, column 32: .*'rods'.*rod",
        ),
        ("parts: {rod: {}}\nsteps: [{step: one, say: One., put_back: cam}]\n", r"'cam'.*parts"),
        ("tools: {rag: {}}\nsteps: [{step: one, say: One., put_in: {rag: many}}]\n", "whole number"),
        ("tools: {rag: {counts: 2}}\nsteps: [{step: one, say: One.}]\n", "counts"),
        ("steps: [{step: one, say: One., apply: [{what: oil}]}]\n", "where"),
        ("parts: {rod: {way_round: {answers: [up]}}}\nsteps: [{step: one, say: One.}]\n", "ask"),
    ],
)
def test_mistake_is_told_with_what_to_write(body: str, told: str) -> None:
    """An unknown part, a count that is none, a supply without a place, a question without its words."""
    with pytest.raises(ProcedureError, match=told):
        procedure(body)


def test_questions_have_the_usual_answers_unless_their_author_lists_some() -> None:
    """A plain text is the question; its answers are then the usual ones."""
    part = procedure(
        "parts: {rod: {way_round: Which end was up?, mark: {ask: How?, answers: [dot, none]}}}\n"
        "steps: [{step: one, say: One., take_off: rod}]\n"
    ).parts["rod"]
    assert part.questions["way_round"].answers == USUAL_WAYS
    assert part.questions["mark"].answers == ("dot", "none")


def test_supplies_of_a_step_are_its_own_and_those_of_the_parts_it_fits() -> None:
    """What goes on a part is wanted where it is fitted, once however many there are, and not where it comes off."""
    made = procedure(
        "parts:\n  ring: {count: 2, apply: [{what: oil, where: all round}]}\n"
        "  cover: {apply: [{what: sealant, where: the rim}]}\n"
        "steps:\n  - {step: off, say: Off., take_off: cover}\n"
        "  - {step: on, say: On., put_back: cover, use: {ring: 2}, apply: [{what: grease, where: the lip}]}\n"
    )
    route = route_through(made)
    assert [supply.what for supply in route.supplies(made.steps[0])] == []
    assert [supply.what for supply in route.supplies(made.steps[1])] == ["grease", "oil", "sealant"]
