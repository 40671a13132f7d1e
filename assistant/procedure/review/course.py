"""Steps, decisions, gates and waits: what never comes up, what can be passed, what ends by nothing."""

import re
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Final

from assistant.procedure.conditions import decision_of
from assistant.procedure.finding import Finding
from assistant.procedure.model import Step
from assistant.procedure.review.ways import Looked
from assistant.procedure.route import route_through

_WAIT: Final = "write it as wait: {least: 10 min, test: ...}"
_WAITS: Final = re.compile(
    r"\b(?:wait|let|leave|allow|cure|soak|dry|settle)\b.*(?:[ -](?:seconds|minutes|min|hours|days)\b|"
    r"\b(?:an?|one|half an) (?:minute|hour|night|day)\b|\bovernight\b)",
    re.IGNORECASE,
)


def never_up(looked: Looked) -> Iterator[Finding]:
    """Find steps that no decision brings up."""
    up = {place for way in looked.ways for place in way.places}
    for place, step in enumerate(looked.procedure.steps):
        if place not in up and (looked.every or _contradicts_itself(step)):
            needs = " and ".join(step.when)
            yield Finding(
                path=("steps", place, "when"),
                what=f"step {step.step} never comes up: {needs} cannot hold together, with all that they hang on",
                do="take one of its conditions out, or the step",
            )


def _contradicts_itself(step: Step) -> bool:
    wanted = [decision_of(condition) for condition in step.when]
    return any((name, not answer) in wanted for name, answer in wanted)


def half_decided(looked: Looked) -> Iterator[Finding]:
    """Find steps that wait for a no to a question which, on some way, nobody is asked."""
    for place, step in enumerate(looked.procedure.steps):
        for name, wanted in map(decision_of, step.when):
            silent = next(
                (way for way in looked.ways if name not in way.decided and _else_up(step, name, way.decided)),
                None,
            )
            if silent and not wanted:
                yield Finding(
                    path=("steps", place, "when"),
                    what=f"where {silent.told()}, nobody decides {name!r}, and step {step.step} does not come up",
                    do=f"give it the conditions of the step that decides {name!r}, or decide that always",
                )


def _else_up(step: Step, name: str, decided: Mapping[str, bool]) -> bool:
    others = [decision_of(condition) for condition in step.when if decision_of(condition)[0] != name]
    return all(decided.get(other) is answer for other, answer in others)


def idle_decisions(looked: Looked) -> Iterator[Finding]:
    """Find decisions that no step depends on."""
    wanted = {decision_of(condition)[0] for step in looked.procedure.steps for condition in step.when}
    for place, step in enumerate(looked.procedure.steps):
        if step.decide and step.decide.name not in wanted:
            yield Finding(
                path=("steps", place, "decide"),
                what=f"no step depends on {step.decide.name!r}",
                do=f"write when: {step.decide.name} at the steps that need it, or make it a check",
            )


def gates_passed(looked: Looked) -> Iterator[Finding]:
    """Find gates that ask nothing, or that no later step rests on, so that all goes on without their answer."""
    route = route_through(looked.procedure)
    for place, step in enumerate(looked.procedure.steps):
        if step.check is None:
            continue
        later = looked.procedure.steps[place + 1 :]
        if not step.check.ask.strip():
            yield Finding(
                path=("steps", place, "check", "ask"),
                what=f"the gate {step.step} asks nothing",
                do="write the question that has to be answered with yes",
            )
        elif later and not any(route.rests(each.step, on=step.step) for each in later):
            yield Finding(
                path=("steps", place, "check"),
                what=f"the gate {step.step} can be passed unasked: no step after it rests on it",
                do=f"add {step.step} to rests_on of the step that needs it",
            )


def gates_left_out(looked: Looked) -> Iterator[Finding]:
    """Find routes that leave out a gate which a step of theirs rests on."""
    whole = route_through(looked.procedure)
    gates = [step for step in looked.procedure.steps if step.check]
    for name, steps in looked.procedure.routes.items():
        for gate in gates:
            over = [step for step in steps if gate.step not in steps and whole.rests(step, on=gate.step)]
            if over:
                yield Finding(
                    path=("routes", name),
                    what=f"the route {name} goes past the gate {gate.step} unasked, with step {over[0]}",
                    do=f"add {gate.step} to the route, or be sure that it is not needed there",
                )


def waits_without_end(looked: Looked) -> Iterator[Finding]:
    """Find waits that no test ends, and words that call for a wait where none is kept."""
    for place, step in enumerate(looked.procedure.steps):
        if step.wait and not step.wait.test.strip():
            yield Finding(
                path=("steps", place, "wait", "test"),
                what=f"the wait {step.step} has no end test",
                do="write what must be true at its end, such as: Do both rods turn freely?",
            )
        elif step.wait is None and _WAITS.search(step.say):
            yield Finding(
                path=("steps", place, "say"),
                what=f"step {step.step} says to wait, but nothing keeps the time or tests its end",
                do=_WAIT if step.action == "do" else f"{_WAIT} in a step of its own",
            )


def strangers(looked: Looked) -> Iterator[Finding]:
    """Find helpers by name who are not among the people."""
    people = looked.procedure.people
    for place, step in enumerate(looked.procedure.steps):
        if step.helper and step.helper.who != "helper" and step.helper.who not in people:
            yield Finding(
                path=("steps", place, "helper"),
                what=f"{step.helper.who} helps at step {step.step} and is not among the people",
                do=f"add {step.helper.who} to people",
            )


def backward_routes(looked: Looked) -> Iterator[Finding]:
    """Find routes that name steps in another order than that in which they are worked."""
    places = {step.step: place for place, step in enumerate(looked.procedure.steps)}
    for name, steps in looked.procedure.routes.items():
        for first, second in pairwise(steps):
            if places[second] <= places[first]:
                yield Finding(
                    path=("routes", name, steps.index(second)),
                    what=f"the route {name} names {second} after {first}, but it is worked in the file's order",
                    do=f"write {second} before {first}" if first != second else "write it once",
                )
