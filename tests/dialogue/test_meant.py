"""Whether other words mean the same."""

import pytest

from assistant.dialogue.meant import meant
from assistant.hearing.grammar import load_grammar

SAME = [
    ("measure", "measured sixteen millimetre", "measured sixteen millimeters"),
    ("measure", "measured one hundred ten millimetres", "measured one one zero millimetres"),
    ("tighten", "in newton metre", "in newton meters"),
    ("tighten", "notes for the step", "notes for this step"),
    ("tighten", "number four done", "bolt four done"),
]
OTHER = [
    ("measure", "measured sixteen millimetres", "measured sixty millimetres"),
    ("measure", "measured point two five millimetres", "measured point two five"),
    ("tighten", "number four done", "number four again"),
    ("tighten", "in newton metres", "in foot pounds"),
]


@pytest.mark.parametrize(
    ("mode", "one", "other", "same"),
    [(*case, True) for case in SAME] + [(*case, False) for case in OTHER],
)
def test_words_mean_the_same_where_they_do_the_same(mode: str, one: str, other: str, *, same: bool) -> None:
    """A value counts by its size, a unit by what it is, everything else by its words."""
    grammar = load_grammar(mode)
    matches = [grammar.match(text.split()) for text in (one, other)]
    assert matches[0] is not None
    assert matches[1] is not None
    assert matches[0].means_the_same(matches[1]) is same
    assert (meant(matches[0].intents) == meant(matches[1].intents)) is same
