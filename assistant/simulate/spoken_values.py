"""Values as a mechanic says them: one within limits or out of them, in words that the grammar takes."""

import random
from collections.abc import Iterator
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from assistant.dialogue.numbers import unit_of, value_of, words_for
from assistant.dialogue.units_spoken import unit_words
from assistant.errors import AssistantError
from assistant.hearing.grammar import Grammar, words_of
from assistant.measures.conformity import Limits, judge
from assistant.torque.units import Quantity

_TRIES: Final = 60
_FREE: Final = Decimal(1)
"""A value with no limits at all, in the author's unit."""

_PLACES: Final = (2, 1, 3, 0, 4)
"""Figures after the point that are tried, the usual ones of a workshop first."""


def draw_value(limits: Limits, unit: str, rng: random.Random, *, good: bool) -> Iterator[Quantity]:
    """Give values in `unit`, those first that are surely within the limits, or surely outside them."""
    low, high = _range(limits, unit)
    span = (high - low) or max(abs(high), _FREE) / 10
    for attempt in range(_TRIES):
        share = Decimal(str(round(rng.uniform(0.15, 0.85) if good else rng.choice((-0.8, 1.8)), 3)))
        places = _PLACES[attempt % len(_PLACES)]
        value = (low + share * span).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)
        found = Quantity(value=value, unit=unit)
        if (judge(found, limits) in {"in", "no limits"}) is good:
            yield found


def _range(limits: Limits, unit: str) -> tuple[Decimal, Decimal]:
    low, high = (limit.to(unit).value if limit else None for limit in (limits.least, limits.most))
    if low is None and high is None:
        return _FREE, _FREE * 2
    if low is None:
        assert high is not None  # noqa: S101  (one of the two is there)
        return (Decimal(0), high) if high > 0 else (high * 2, high)
    return (low, low + max(abs(low), _FREE) if high is None else high)


def said(value: Quantity, grammar: Grammar) -> str | None:
    """Say a value so that the grammar takes it as just that; None where it cannot be said here."""
    for words in _wordings(value):
        match = grammar.match(words_of(words))
        if match and any(_is(value, dict(intent.slots)) for intent in match.intents):
            return words
    return None


def _wordings(value: Quantity) -> Iterator[str]:
    plain = Quantity(value=value.value, unit="deg" if value.unit in {"degC", "degF"} else value.unit)
    for one in (plain, *_other_units(plain)):
        try:
            number = words_for(one.value)
            yield f"measured {number} {unit_words(one.unit, one.value)}"
        except AssistantError:
            continue
        yield f"measured {number}"


def _other_units(value: Quantity) -> Iterator[Quantity]:
    for unit in ("mm", "thou", "turn", "N.m", "min"):
        try:
            other = value.to(unit)
        except AssistantError:
            continue
        if other.unit != value.unit and other.value == round(other.value, 4):
            yield Quantity(value=other.value.normalize(), unit=unit)


def _is(value: Quantity, slots: dict[str, str]) -> bool:
    if "value" not in slots:
        return False
    unit = unit_of(slots["unit"]) if "unit" in slots else value.unit
    unit = value.unit if unit == "deg" and value.unit in {"degC", "degF"} else unit
    heard = Quantity(value=Decimal(value_of(slots["value"])), unit=unit)
    try:
        return heard.exact(value.unit) == value.exact(value.unit)
    except AssistantError:
        return False
