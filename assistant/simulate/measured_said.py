"""Measured values as a mechanic says them: within their limits or out of them, in words that the grammar takes."""

import random
from collections.abc import Iterator, Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from assistant.dialogue.numbers import unit_of, value_of, words_for
from assistant.dialogue.units_spoken import unit_words
from assistant.errors import AssistantError, TorqueError
from assistant.hearing.grammar import Grammar, words_of
from assistant.job.values import inputs_of, limits_of, missing
from assistant.measures.conformity import GOOD, Limits, judge
from assistant.simulate.scene import Dice, Scene
from assistant.torque.units import Quantity

_TRIES: Final = 60
_WIDE: Final = Decimal(1)
"""How far values without limits are spread, in the author's unit."""

_PLACES: Final = (2, 1, 3, 0, 4)
"""Figures after the point that are tried, the usual ones of a workshop first."""

_SAID_IN: Final = ("mm", "thou", "turn", "N.m", "min")
"""Units in which another is said, where it has no words of its own in the grammar."""

_DEGREES: Final = ("degC", "degF")


def values(scene: Scene, dice: Dice, *, good: bool) -> Iterator[Quantity]:
    """Give values for the measuring step that the reading is at; none where its limits are not known yet."""
    wanted, limits = scene.step.measure, _limits(scene)
    if wanted is not None and limits is not None and (good or limits):
        yield from _drawn(limits, wanted.unit, dice.rng, good=good)


def say_value(scene: Scene, dice: Dice, first: str = "measured") -> str | None:
    """Say a value for the step, within its limits but for once in a while; None where none can be said here.

    Where the gauge leaves nothing that is surely within the limits, one that is not is said.
    """
    good = not dice.once(f"out at {scene.step.step}", dice.mistakes)
    for wanted in (good, True, False):
        for value in values(scene, dice, good=wanted):
            if words := said(value, scene.grammar, first):
                return words
    return None


def _limits(scene: Scene) -> Limits | None:
    wanted = scene.step.measure
    if wanted is None or missing(scene.route, scene.state, wanted):
        return None
    try:
        return limits_of(wanted, inputs_of(scene.route, scene.state, wanted), wanted.gauge)
    except TorqueError:
        return None


def _drawn(limits: Limits, unit: str, rng: random.Random, *, good: bool) -> Iterator[Quantity]:
    low, high = _range(limits, unit)
    span = (high - low) or max(abs(high), _WIDE) / 10
    for attempt in range(_TRIES):
        share = Decimal(str(round(rng.uniform(0.15, 0.85) if good else rng.choice((-0.8, 1.8)), 3)))
        figures = Decimal(1).scaleb(-_PLACES[attempt % len(_PLACES)])
        value = Quantity(value=(low + share * span).quantize(figures, rounding=ROUND_HALF_EVEN), unit=unit)
        if (judge(value, limits) in GOOD) is good:
            yield value


def _range(limits: Limits, unit: str) -> tuple[Decimal, Decimal]:
    low, high = (limit.to(unit).value if limit else None for limit in (limits.least, limits.most))
    if high is None:
        return (_WIDE, 2 * _WIDE) if low is None else (low, low + max(abs(low), _WIDE))
    if low is None:
        return (Decimal(0), high) if high > 0 else (2 * high - _WIDE, high)
    return low, high


def said(value: Quantity, grammar: Grammar, first: str = "measured") -> str | None:
    """Say a value so that the grammar takes it for just that; None where it cannot be said here."""
    for words in _wordings(value):
        whole = f"{first} {words}"
        match = grammar.match(words_of(whole))
        if match and any(_means(intent.slots, value) for intent in match.intents):
            return whole
    return None


def _wordings(value: Quantity) -> Iterator[str]:
    plain = Quantity(value=value.value, unit="deg") if value.unit in _DEGREES else value
    for one in (plain, *_in_other_units(plain)):
        try:
            number = words_for(one.value)
            yield f"{number} {unit_words(one.unit, one.value)}"
        except AssistantError:
            continue
    yield words_for(value.value)


def _in_other_units(value: Quantity) -> Iterator[Quantity]:
    for unit in _SAID_IN:
        try:
            other = value.to(unit)
        except AssistantError:
            continue
        if unit != value.unit:
            yield Quantity(value=round(other.value, 4).normalize(), unit=unit)


def _means(slots: Mapping[str, str], value: Quantity) -> bool:
    if "value" not in slots:
        return False
    unit = unit_of(slots["unit"]) if "unit" in slots else value.unit
    unit = value.unit if unit == "deg" and value.unit in _DEGREES else unit
    heard = Quantity(value=Decimal(value_of(slots["value"])), unit=unit)
    try:
        return heard.exact(value.unit) == value.exact(value.unit)
    except AssistantError:
        return False
