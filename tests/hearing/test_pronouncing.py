"""How words sound: the CMU dictionary in the PocketSphinx wheel, the author's word, and guesses."""

import random

import pytest
from pydantic import ValidationError

from assistant.hearing.alike import cost
from assistant.hearing.engines.pocketsphinx import PocketsphinxEngine
from assistant.hearing.grammar import load_grammar, pronunciations
from assistant.hearing.pronouncing import dictionary, grammar_for, pronounce, ways
from assistant.hearing.spelling import by_letters, guess
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import route_through
from assistant.procedure.sounds import CONSONANTS, VOWELS, read_sounds

TEXT = """
procedure: Named bench
revision: 1
about: Invented, for the tests.
cautions: Lock the drive.
people: [bjoern]
pronounce: {bjoern: B Y AO1 R N, gasket: G AE S K AE T}
parts: {circlip gasket: {}}
steps: [{step: a, say: Fit it., use: circlip gasket}]
"""


def test_dictionary_has_the_sounds_that_an_author_may_write() -> None:
    """The CMU dictionary of the wheel uses the 39 sounds, and no other."""
    assert {sound for sounds in dictionary().values() for sound in sounds} == VOWELS | CONSONANTS


@pytest.mark.parametrize(
    ("word", "sounds", "source"),
    [
        ("gasket", "G AE S K AH T", "dictionary"),
        ("thou", "TH AW", "trade"),
        ("pushrod", "P UH SH R AA D", "guess"),
        ("circlip", "S ER K L IH P", "guess"),
        ("sprockets", "S P R AA K AH T S", "guess"),
        ("shimmed", "SH IH M D", "guess"),
    ],
)
def test_says_how_a_word_sounds_and_who_says_so(word: str, sounds: str, source: str) -> None:
    """The dictionary first, the trade's list where it says otherwise, a guess where neither has the word."""
    found = pronounce(word)
    assert (found.sounds, found.source) == (tuple(sounds.split()), source)


def test_author_has_the_last_word() -> None:
    """What the author says counts before the dictionary."""
    found = pronounce("gasket", {"gasket": ("G", "AE", "S")})
    assert (found.sounds, found.source) == (("G", "AE", "S"), "author")


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("either", ["IY DH ER", "AY DH ER"]),
        ("thou", ["TH AW", "DH AW"]),
        ("bolt", ["B OW L T"]),
        ("pushrod", ["P UH SH R AA D"]),
    ],
)
def test_gives_every_way_in_which_a_word_may_sound(word: str, expected: list[str]) -> None:
    """All that the dictionary lists, after what the trade says; a guess only where nobody knows the word."""
    assert [" ".join(way) for way in ways(word)] == expected


def test_the_author_says_the_only_way() -> None:
    """Who says how a word sounds means that it does not sound as the dictionary lists it."""
    assert ways("either", {"either": ("AY", "DH", "ER")}) == (("AY", "DH", "ER"),)


def test_engine_agrees_with_the_dictionary() -> None:
    """The engine says of each word of every grammar what this module says, in one of its ways."""
    engine = PocketsphinxEngine()
    for word in load_grammar("tighten").words | load_grammar("measure").words:
        assert pronounce(word).source in {"dictionary", "trade"}
        if word not in pronunciations():
            assert engine._decoder.lookup_word(word) == " ".join(pronounce(word).sounds)


def test_guesses_are_measured_against_the_dictionary() -> None:
    """Of 2000 words of the CMU dictionary, hidden from the guess, four sounds of five come out right or better."""
    words = [word for word in dictionary() if word.isalpha() and len(word) > 3]
    wrong = sounds = 0
    for word in random.Random(1).sample(words, 2000):
        found = guess(word, lambda other, word=word: None if other == word else dictionary().get(other))  # type: ignore[misc]
        wrong += _errors(found, dictionary()[word])
        sounds += len(dictionary()[word])
    assert wrong / sounds < 0.2


def _errors(one: tuple[str, ...], other: tuple[str, ...]) -> int:
    row = list(range(len(other) + 1))
    for place, mine in enumerate(one, start=1):
        above, row = row, [place]
        for at, sound in enumerate(other):
            row.append(min(above[at] + (mine != sound), above[at + 1] + 1, row[at] + 1))
    return row[-1]


def test_every_letter_comes_to_an_end() -> None:
    """Any word of letters gets sounds, however strange it is."""
    for word in ("x", "yyy", "qzx", "ce", "aeiou", "über"):
        assert by_letters(word)


def test_a_wrong_sound_is_refused() -> None:
    """A sound that is none is told by name; figures of stress may stand."""
    assert read_sounds("K AE1 P") == ("K", "AE", "P")
    with pytest.raises(ValueError, match="'Q' is none of the sounds"):
        read_sounds("K Q")
    with pytest.raises(ValidationError, match="no sounds are given"):
        type(parse_procedure(TEXT, name="x")).model_validate(
            {
                "procedure": "x",
                "revision": 1,
                "about": "x",
                "cautions": "x",
                "steps": [],
                "pronounce": {"a": ""},
            }
        )


def test_recogniser_is_told_how_names_sound() -> None:
    """PocketSphinx can hear names that it has no word for, and the author's way beside its own."""
    route = route_through(parse_procedure(TEXT, name="bench.yaml"))
    engine = PocketsphinxEngine()
    for mode in ("step", "person"):
        engine._search_for(grammar_for(route, mode))
    assert engine.unknown(["bjoern", "circlip"]) == ()
    assert engine._decoder.lookup_word("gasket(2)") == "G AE S K AE T"


def test_no_sound_costs_nothing_against_another() -> None:
    """Only a sound and itself are the same, and it does not matter which of two comes first."""
    for one in VOWELS | CONSONANTS:
        for other in VOWELS | CONSONANTS:
            assert (cost([one], [other]) == 0) is (one == other)
            assert cost([one], [other]) == cost([other], [one])
