"""The grammar of parts, kit, supplies and tools: what each phrase means, and that no two mean the same."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.dialogue.intents import Intent
from assistant.hearing.grammar import load_grammar, words_of
from assistant.job.things import DIGITS, LETTERS, is_label

NAMES = {
    "part": ["rocker cover", "intake push-rod front"],
    "kit": ["o-ring"],
    "tool": ["rag"],
    "supply": ["engine oil"],
    "letter": LETTERS,
    "digit": DIGITS,
    "loose": ["loose part"],
    "applied": ["applied"],
    "inside": ["inside", "still in the engine"],
}
STEP = load_grammar("step", NAMES)
PLACE = load_grammar("place", NAMES)


@pytest.mark.parametrize(
    ("said", "name", "slots"),
    [
        ("took off the rocker cover", "off", {"thing": "rocker cover"}),
        ("took off bravo 7 in tray 2 slot 4", "off", {"thing": "bravo seven", "spot": "tray two slot four"}),
        ("intake push-rod front in box 3", "put", {"thing": "intake push rod front", "spot": "box three"}),
        ("x-ray zero in bag 12", "put", {"thing": "x ray zero", "spot": "bag twelve"}),
        ("loose part in shelf one", "put", {"thing": "loose part", "spot": "shelf one"}),
        ("put back the rocker cover", "put-back", {"thing": "rocker cover"}),
        ("where is juliet nine", "where-is", {"thing": "juliet nine"}),
        ("label bravo seven", "label", {"thing": "bravo seven"}),
        ("what is bravo seven", "what-is", {"thing": "bravo seven"}),
        ("o-ring fitted", "fitted", {"thing": "o ring"}),
        ("o-ring used again", "reuse", {"thing": "o ring"}),
        ("how many left of the o-ring", "kit-left", {"thing": "o ring"}),
        ("engine oil applied", "applied", {"supply": "engine oil"}),
        ("applied", "applied", {}),
        ("rag in", "tool-in", {"tool": "rag"}),
        ("rag out", "tool-out", {"tool": "rag"}),
        ("what is inside", "inside", {}),
        ("what is still in the engine", "inside", {}),
    ],
)
def test_phrase_means_what_it_says(said: str, name: str, slots: dict[str, str]) -> None:
    """Each way of speaking of a thing gives its intent, with the thing and the place as they were said."""
    match = STEP.match(words_of(said))
    assert match is not None
    assert match.intents == (Intent(name=name, slots=slots),)


@pytest.mark.parametrize(
    ("said", "name", "slots"),
    [
        ("tray two slot four", "reason", {"reason": "tray two slot four"}),
        ("in bag three", "reason", {"reason": "bag three"}),
        ("rocker cover in box 3", "put", {"thing": "rocker cover", "spot": "box three"}),
        ("took off the rocker cover in tray 2", "off", {"thing": "rocker cover", "spot": "tray two"}),
        ("yes next", "yes", None),
    ],
)
def test_a_place_that_was_asked_for(said: str, name: str, slots: dict[str, str] | None) -> None:
    """A place answers alone, or with the part's name as when it came off; so does a yes."""
    match = PLACE.match(words_of(said))
    assert match is not None
    assert match.intents[0] == Intent(name=name, slots=slots or {})


@pytest.mark.parametrize(
    "said", ["bravo", "bravo seven", "label", "tray two", "took off", "in tray two", "rag"]
)
def test_half_a_phrase_is_nothing(said: str) -> None:
    """A name or a place alone, as is left of a phrase in noise, does nothing."""
    assert STEP.match(words_of(said)) is None


def test_what_a_procedure_does_not_use_costs_nothing() -> None:
    """Without parts, supplies and tools a step takes just what one takes that waits, but for the timer."""
    bare, waiting = load_grammar("step").phrases(200), load_grammar("wait").phrases(200)
    assert bare is not None
    assert waiting is not None
    assert set(waiting) - set(bare) == {"start timer", "start the timer"}
    assert set(bare) <= set(waiting)


@given(st.sampled_from(LETTERS), st.sampled_from(DIGITS))
def test_every_label_can_be_said(letter: str, digit: str) -> None:
    """Every letter of the spelling alphabet goes with every digit."""
    match = STEP.match(words_of(f"where is {letter} {digit}"))
    assert match is not None
    assert is_label(match.intents[0].slots["thing"])


@settings(max_examples=60)
@given(seed=st.integers(min_value=0, max_value=2**32))
def test_names_of_things_cost_other_modes_nothing(seed: int) -> None:
    """What is said at a step that waits means the same where parts can be named."""
    choose, waiting = random.Random(seed), load_grammar("wait", NAMES)
    phrase = choose.choice([words for words in waiting.phrases(200) or () if not words.startswith("start ")])
    found = STEP.match(phrase.split())
    assert found is not None
    assert found.intents == (waiting.match(phrase.split()) or found).intents
