import pytest

from assistant.errors import ProcedureError
from assistant.procedure.load import parse_procedure
from assistant.procedure.model import Procedure

WRITTEN = """\
procedure: Both cylinders
revision: 1
about: Invented.
cautions: Wear eye protection.
steps:
  - {step: look, say: Look at it., decide: {name: pump apart, ask: Was the pump separated?}}
  - repeat: cylinder
    each: [front, rear]
    groups:
      "{cylinder} rocker bolts": {count: 2, stages: [snug, {torque: 18 N.m}]}
    steps:
      - {step: push-rods, say: "Put the {cylinder} push rods back.", when: pump apart}
      - repeat: valve
        each: [inlet, exhaust]
        steps:
          - {step: valve, say: "Set the {cylinder} {valve} valve."}
      - {step: rockers, say: Tighten., tighten: "{cylinder} rocker bolts", rests_on: push-rods}
    differ:
      rear: {push-rods: {caution: The rear one is close to the bulkhead.}}
  - do: bleed
    with: {side: front, least: 45 min}
subs:
  bleed:
    needs: [side, least]
    steps:
      - {step: bleed, say: "Let the {side} lifters bleed.", wait: {least: "{least}", test: Soft?}}
"""


def _expanded() -> Procedure:
    return parse_procedure(WRITTEN, name="both.yaml")


def test_a_repeat_has_steps_of_its_own_names() -> None:
    """Each time has its own steps, also of a repeat within it, and a sub-procedure is ended by what it is given."""
    assert [step.step for step in _expanded().steps] == [
        "look",
        "push-rods-front",
        "valve-inlet-front",
        "valve-exhaust-front",
        "rockers-front",
        "push-rods-rear",
        "valve-inlet-rear",
        "valve-exhaust-rear",
        "rockers-rear",
        "bleed-front",
    ]


def test_gaps_are_filled_everywhere() -> None:
    """What is said, what is tightened and how long is waited follow the filling."""
    steps = {step.step: step for step in _expanded().steps}
    assert steps["valve-exhaust-rear"].say == "Set the rear exhaust valve."
    assert steps["rockers-rear"].tighten is not None
    assert steps["rockers-rear"].tighten.group == "rear rocker bolts"
    assert steps["bleed-front"].wait is not None
    assert str(steps["bleed-front"].wait.least) == "45 min"


def test_a_repeat_has_groups_of_its_own() -> None:
    """The front bolts are not the rear bolts."""
    assert list(_expanded().groups) == ["front rocker bolts", "rear rocker bolts"]


def test_named_points_may_differ() -> None:
    """A caution that only the rear one needs is only there."""
    steps = {step.step: step for step in _expanded().steps}
    assert steps["push-rods-front"].caution is None
    assert steps["push-rods-rear"].caution is not None


def test_a_step_rests_on_its_own_twin() -> None:
    """Within a block, the rear step rests on the rear one."""
    steps = {step.step: step for step in _expanded().steps}
    assert steps["rockers-rear"].rests_on == ("push-rods-rear",)


MISTAKES = [
    ("18 N.m", "18", "line 10", "write its unit"),
    ("{cylinder} push", "{cylindr} push", "line 12", "here there is {cylinder}"),
    ("do: bleed", "do: blead", "line 20", "under subs there is bleed"),
    ("when: pump apart", "when: pump appart", "line 12", "write pump apart"),
    ("each: [front, rear]", "every: [front, rear]", "line 7", "written with repeat, each, steps"),
    ("side: front, least", "least", "line 20", "mend with: side"),
    ("rests_on: push-rods", "rests_on: push-rod", "line 17", "write push-rods-front"),
    ("needs: [side, least]", "needs: [side]", "line 20", "mend with: least"),
]


@pytest.mark.parametrize(("old", "new", "line", "advice"), MISTAKES, ids=[new for _, new, _, _ in MISTAKES])
def test_a_mistake_in_a_block_is_told_where_it_is_written(old: str, new: str, line: str, advice: str) -> None:
    """File, line and remedy are those of the text that the author wrote, not of what was made of it."""
    assert old in WRITTEN
    with pytest.raises(ProcedureError) as caught:
        parse_procedure(WRITTEN.replace(old, new, 1), name="bad.yaml")
    assert line in str(caught.value)
    assert advice in str(caught.value)


def test_a_sub_procedure_that_does_itself_is_refused() -> None:
    """A circle of sub-procedures ends in an error, not in a hang."""
    circle = WRITTEN.replace(
        "      - {step: bleed, say",
        "      - {do: bleed, with: {side: x, least: 1 min}}\n      - {step: bleed, say",
    )
    with pytest.raises(ProcedureError, match="too deep"):
        parse_procedure(circle, name="circle.yaml")


def test_sub_procedure_in_a_repeat_gets_its_ending_once() -> None:
    """What is done for a side within that side's repeat is not named twice after it."""
    within = WRITTEN.replace(
        "    differ:", "      - {do: bleed, with: {side: '{cylinder}', least: 5 min}}\n    differ:"
    )
    names = [
        step.step
        for step in parse_procedure(
            within.replace("    with: {side: front", "    with: {side: last"), name="x"
        ).steps
    ]
    assert [name for name in names if name.startswith("bleed")] == ["bleed-front", "bleed-rear", "bleed-last"]
