from typing import Any

import pytest

from assistant.record.words import act_words, capital, duration, left_open_words, limits, listed, stage_words
from assistant.torque.group import FastenerGroup
from assistant.torque.plan import expand
from assistant.torque.stages import Stage
from assistant.torque.units import read_quantity
from tests.record.sample import demonstration


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("snug", "snug"),
        ("hand", "hand-tight"),
        ({"torque": "60 N.m"}, "60 N.m"),
        ({"share": "50 %"}, "50 % of the final torque"),
        ({"angle": "90 deg"}, "then 90 deg"),
        ({"back_off": "1 turn"}, "back off 1 turn"),
        ({"rise": "1/4 turn", "until": "seated"}, "1/4 turn at a time, until seated"),
        ({"rise": "1/4 turn", "rounds": 3}, "1/4 turn at a time, 3 rounds"),
        ({"centre": "45 lbf.in"}, "centring tool, 45 lbf.in"),
        ("replace", "fastener for tool"),
        ({"check": "60 N.m"}, "check at 60 N.m"),
        ("check", "check"),
    ],
)
def test_stage_words(written: Any, words: str) -> None:
    """A stage is headed by what it does."""
    assert stage_words(Stage.model_validate(written)) == words


def test_act_words_of_a_rise_name_the_round() -> None:
    """An act of a rise says which round it was."""
    group = FastenerGroup.model_validate({"count": 1, "stages": [{"rise": "1/4 turn", "rounds": 2}]})
    assert [act_words(act) for act in expand(group)] == ["1/4 turn more, round 1", "1/4 turn more, round 2"]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 s"), (14.2, "14 s"), (2700, "45 min"), (3905, "1 h 5 min 5 s"), (59.5, "1 min")],
)
def test_duration(seconds: float, words: str) -> None:
    """A length of time is written in hours, minutes and seconds, half a second rounded up."""
    assert duration(seconds) == words


def test_limits() -> None:
    """Limits are written with what bounds them."""
    least, most = read_quantity("0.20 mm"), read_quantity("0.30 mm")
    assert limits(least, most) == "0.20 mm to 0.30 mm"
    assert limits(None, most) == "at most 0.30 mm"
    assert limits(least, None) == "at least 0.20 mm"


@pytest.mark.parametrize(("things", "words"), [((), ""), ((1,), "1"), ((1, 4, 7), "1, 4 and 7")])
def test_listed(things: tuple[int, ...], words: str) -> None:
    """Things are joined as one writes them."""
    assert listed(things) == words


def test_capital_of_nothing() -> None:
    """No words stay no words."""
    assert (capital(""), capital("head bolts")) == ("", "Head bolts")


@pytest.mark.parametrize(
    ("item", "words"),
    [
        ("wait at bleed-down", "step {number}, not waited out"),
        ("position at bleed-down (head bolts 3: damaged)", "step {number}, head bolts 3: damaged"),
        ("measurement at bleed-down (above)", "step {number}, the value is above its limit"),
        ("step at gone", "not done"),
        ("a thing that nobody knows", "a thing that nobody knows"),
    ],
)
def test_what_was_left_open_is_said_by_the_number_of_its_step(item: str, words: str) -> None:
    """The record names no step by the name that its author gave it for the file."""
    route = demonstration()
    number = route.place("bleed-down") + 1
    assert left_open_words(route, item) == words.format(number=number)
