"""The grammars that travel with the program: what every mode takes, and what it means."""

import pytest

from assistant.dialogue.intents import SPOKEN, Intent
from assistant.dialogue.numbers import unit_of, value_of
from assistant.hearing.grammar import combined, load_grammar, modes, words_of
from tests.hearing.spoken import NAMES, THINGS, expected, grammar_of

STEPS = ("step", "tighten", "measure", "wait")


def test_there_is_a_grammar_for_everything_that_can_go_on() -> None:
    """Each thing that the dialogue can be doing has its mode."""
    wanted = {
        "start",
        "step",
        "tighten",
        "measure",
        "wait",
        "question",
        "reason",
        "note",
        "paused",
        "speaking",
        "played",
    }
    assert wanted | {"check", "remedy", "person", "close", "value", "told", "place"} == set(modes())


def test_every_intent_can_be_spoken_and_no_other() -> None:
    """The tags of the grammars and the closed list of intents are the same."""
    whole = combined([load_grammar(mode, {**NAMES, **THINGS}) for mode in modes()], "all")
    tags = {
        tag.partition("=")[0] if "=" in tag else tag
        for _, _, tag in whole._automaton.moves()
        if tag is not None
    }
    slots = {slot for each in SPOKEN.values() for slot in each}
    assert tags == set(SPOKEN) | slots


@pytest.mark.parametrize("mode", [mode for mode in modes() if mode not in ("measure", "value", "place")])
def test_every_phrase_means_what_it_says(mode: str) -> None:
    """Each phrase of each mode gives the intents that the table names, with its slots."""
    grammar = grammar_of(mode)
    phrases = grammar.phrases(4000)
    assert phrases is not None
    for phrase in phrases:
        match = grammar.match(phrase.split())
        assert match is not None
        assert match.intents == expected(phrase), phrase


def test_positions_are_numbers_or_names() -> None:
    """Every place that can be spoken has a number from 1 to 49, or is a name from the procedure."""
    places = set()
    for phrase in grammar_of("tighten").phrases(4000) or ():
        for intent in expected(phrase):
            place = intent.slots.get("position")
            if place is not None:
                places.add(place)
    names = {"front left", "cylinder one inlet"}
    assert names < places
    assert {value_of(place) for place in places - names} == set(range(1, 50))


@pytest.mark.parametrize("mode", STEPS)
def test_every_step_takes_the_common_commands(mode: str) -> None:
    """Wherever a step is worked on, the talk can be steered in the same words."""
    common = set(grammar_of("step").phrases(200) or ())
    assert all(grammar_of(mode).match(phrase.split()) for phrase in common)
    assert {
        "next",
        "done",
        "repeat",
        "back",
        "where am i",
        "take a note",
        "skip",
        "undo",
        "pause",
        "help",
    } <= common


@pytest.mark.parametrize("mode", [mode for mode in modes() if mode != "note"])
def test_stop_and_quiet_are_taken_in_every_mode(mode: str) -> None:
    """The voice can always be stopped, save while a note is being spoken."""
    assert grammar_of(mode).match(("stop",))
    assert grammar_of(mode).match(("quiet",))


@pytest.mark.parametrize("mode", modes())
def test_note_alone_is_no_command(mode: str) -> None:
    """It sounds like "no", which would begin a note that swallows what follows."""
    assert not grammar_of(mode).is_whole(["note"])


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("measured point zero three five inch", "0.035", "in"),
        ("zero point eight nine millimetres", "0.89", "mm"),
        ("measured oh point four millimeters", "0.4", "mm"),
        ("thirty five thou", "35", "thou"),
        ("three and a half turns", "3.5", "turn"),
        ("a quarter turn", "0.25", "turn"),
        ("half a turn", "0.5", "turn"),
        ("three quarters of a turn", "0.75", "turn"),
        ("two sixty fourths of an inch", "0.03125", "in"),
        ("measured one one zero inch pounds", "110", "lbf.in"),
        ("one hundred ten inch pounds", "110", "lbf.in"),
        ("one hundred and ten newton metres", "110", "N.m"),
        ("one ten foot pounds", "110", "lbf.ft"),
        ("two sixty degrees", "260", "deg"),
        ("twelve point five kilogram metres", "12.5", "kgf.m"),
        ("minus point one millimetres", "-0.1", "mm"),
        ("one thousand two hundred inch pounds", "1200", "lbf.in"),
        ("forty five minutes", "45", "min"),
        ("thirty seconds", "30", "s"),
        ("three thirty seconds inch", "0.09375", "in"),
        ("two hours", "2", "h"),
        ("nine bar", "9", "bar"),
        ("0.35 mm", None, None),
        ("0.35 millimetres", "0.35", "mm"),
        ("measured twelve", None, None),
        ("point zero three five", "0.035", None),
        ("measured point two zero", "0.2", None),
        ("measured point zero", None, None),
        ("measured point zero millimetres", "0", "mm"),
        ("zero point eight nine", "0.89", None),
        ("measured three and a half", "3.5", None),
        ("two sixty fourths", "0.03125", None),
        ("minus point one", "-0.1", None),
        ("two thirty seconds", "230", "s"),
        ("point thirty five inch", None, None),
    ],
)
def test_measurements_are_taken_with_their_unit(said: str, value: str | None, unit: str | None) -> None:
    """A measurement gives its value and unit as spoken; without a unit a whole number is not taken."""
    match = grammar_of("measure").match(words_of(said))
    if value is None:
        assert match is None
    else:
        assert match is not None
        [intent] = match.intents
        assert intent.name == "measured"
        assert f"{value_of(intent.slots['value']).normalize():f}" == value
        assert (unit_of(intent.slots["unit"]) if "unit" in intent.slots else None) == unit


@pytest.mark.parametrize("said", ["no point two six", "no measured point two six", "measured point two six"])
def test_value_that_was_read_back_is_corrected_in_one_go(said: str) -> None:
    """After "no" the right value follows at once; it is one intent, and takes the place of the other."""
    match = grammar_of("value").match(words_of(said))
    assert match is not None
    assert match.intents == (Intent(name="measured", slots={"value": "point two six"}),)
