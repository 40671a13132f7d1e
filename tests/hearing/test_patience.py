"""How long a pause must be before speech has ended."""

import pytest

from assistant.hearing.grammar import Grammar, load_grammar, parse_grammar
from assistant.hearing.patience import Patience, is_settled, pause_after

STEP, TIGHTEN, MEASURE = (load_grammar(mode) for mode in ("step", "tighten", "measure"))
CLOSED, USUAL, OPEN = Patience().closed_s, Patience().usual_s, Patience().open_s

PAUSES = [
    ("where am i", STEP, CLOSED, "nothing can follow"),
    ("next", STEP, CLOSED, "only step can follow, which means the same"),
    ("done", STEP, USUAL, "next may follow, which means more"),
    ("stop", STEP, USUAL, "the timer may follow, which means something else"),
    ("number four", TIGHTEN, OPEN, "it is only the beginning"),
    ("number four done", TIGHTEN, USUAL, "next may follow"),
    ("mark four", TIGHTEN, OPEN, "how it stands is still to come"),
    ("measured", MEASURE, OPEN, "the value is still to come"),
    ("measured point two", MEASURE, OPEN, "the unit is still to come"),
    ("two hundred", MEASURE, OPEN, "fifty may follow, and a unit must"),
    ("measured point two five millimetres", MEASURE, CLOSED, "nothing can follow a unit"),
    ("you what", STEP, USUAL, "it is nothing that can be said"),
    ("", STEP, USUAL, "nothing was heard"),
]


@pytest.mark.parametrize(("words", "grammar", "pause_s", "why"), PAUSES)
def test_the_pause_depends_on_what_may_follow(words: str, grammar: Grammar, pause_s: float, why: str) -> None:
    """Short where nothing else can follow, long after the beginning of a phrase."""
    assert pause_after(words.split(), grammar, Patience(), accepted=True) == pause_s, why


def test_what_is_not_sure_enough_gets_no_short_pause() -> None:
    """A whole phrase that is in doubt may turn out to be another when more has been said."""
    assert pause_after(["next"], STEP, Patience(), accepted=False) == USUAL


def test_what_has_many_ways_on_is_not_settled() -> None:
    """Looking at the ways on ends, however many there are."""
    assert not is_settled(["number", "four"], TIGHTEN)
    assert not is_settled([], MEASURE)


def test_a_longer_phrase_without_tags_means_something_else() -> None:
    """In a plain list of phrases the words are the meaning, so "thirty" waits for "thirty five"."""
    plain = parse_grammar(
        "#JSGF V1.0;\ngrammar plain;\npublic <plain> = thirty | thirty five;\n", name="plain"
    )
    assert not is_settled(["thirty"], plain)
    assert is_settled(["thirty", "five"], plain)
