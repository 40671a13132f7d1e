from assistant.evaluate.bench import long_procedure
from assistant.job.names import Names
from assistant.job.state import JobState
from assistant.job.way import is_any_open, missing_before, next_step, open_steps, resting_on
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import Route, route_through

BRANCHING = """\
procedure: Invented
revision: 1
demonstration: true
about: Invented.
cautions: Look out.
steps:
  - {step: a, say: A.}
  - {step: b, say: B.}
  - {step: c, say: C., rests_on: []}
  - {step: d, say: D., rests_on: [a, c]}
  - {step: e, say: E.}
routes:
  some: [a, c, e]
"""


def _route(name: str = "") -> Route:
    return route_through(parse_procedure(BRANCHING, name="branching"), name)


def _names(steps: object) -> str:
    return "".join(step.step for step in steps)  # type: ignore[attr-defined]


def test_step_waits_for_what_it_rests_on() -> None:
    """What is missing before a step is all that it rests on at first or second hand, and nothing else."""
    route, state = _route(), JobState()
    missing = {step.step: _names(missing_before(route, state, step)) for step in route.steps}
    assert missing == {"a": "", "b": "a", "c": "", "d": "ac", "e": "acd"}


def test_route_that_leaves_steps_out_keeps_what_rests_through_them() -> None:
    """On a shorter route a step still rests on what lies under a step that the route leaves out."""
    route = _route("some")
    assert _names(missing_before(route, JobState(), route.step("e"))) == "ac"
    assert resting_on(route, JobState(done=Names(frozenset("ae"))), "a") == ("e",)


def test_suspect_step_is_open_again() -> None:
    """A done step is dealt with, and is open again while it is suspect."""
    route = _route()
    state = JobState(done=Names(frozenset("ab")), skipped={"c": "why"}, suspect={"b": "a"})
    assert _names(open_steps(route, state)) == "bde"
    following = next_step(route, state, "a")
    assert following is not None
    assert following.step == "b"


def test_long_job_is_worked_to_its_end() -> None:
    """A job of two thousand steps knows the next one at each place, and that none is left in the end."""
    route, state = route_through(long_procedure(2000)), JobState()
    for step, following in zip(route.steps, (*route.steps[1:], None), strict=True):
        state = JobState(done=state.done.plus(step.step))
        assert next_step(route, state, step.step) is following
    assert not is_any_open(route, state)
