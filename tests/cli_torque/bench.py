"""The bench at which the torque commands are tried: a shop of two wrenches, one procedure, and how answers are read."""

import datetime as dt
import json
from collections.abc import Callable
from typing import Any

from typer.testing import Result

TODAY = dt.datetime.now(dt.UTC).astimezone().date().isoformat()

SHOP = f"""\
wrenches:
  - name: inch pound
    say: the quarter-inch drive inch-pound wrench
    least: 20 lbf.in
    most: 200 lbf.in
    resolution: 1 lbf.in
    calibrated: {TODAY}
  - name: middle
    least: 5 N.m
    most: 60 N.m
    resolution: 0.5 N.m
    calibrated: {TODAY}
"""

PUMP = """\
procedure: A pump
revision: 1
demonstration: true
about: Invented, not for any real engine.
cautions: Wear eye protection.
groups:
  pump bolts:
    thread: 1/4-20
    class: SAE 8
    layout: {circle: 4}
    centring: [1, 3]
    stages: [hand, {centre: 45 lbf.in}, {replace: 45 lbf.in}, {torque: 110 lbf.in}]
  covers:
    layout: {line: 2}
    stages: [{rise: 1/4 turn, until: 18 lbf.ft, rounds: [2, 3], clicks: true}]
  part way:
    count: 1
    stages: [{share: 66 %}, {torque: 100.1 lbf.in}]
  bare:
    count: 2
steps:
  - {step: fit, say: Fit it.}
"""

Run = Callable[..., Result]


def found_in(result: Result, code: int = 0) -> dict[str, Any]:
    """Give the one JSON object of a clean command."""
    assert result.exit_code == code, result.output
    (line,) = result.output.splitlines()
    told: dict[str, Any] = json.loads(line)
    return told


def lines_of(result: Result, code: int = 0) -> list[str]:
    """Give the lines of a clean command."""
    assert result.exit_code == code, result.output
    return result.output.splitlines()
