"""The grammars that travel with the program: what every mode takes, and that decoders can take it."""

import random
from collections.abc import Iterator
from functools import cache

import pocketsphinx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.dialogue.intents import SPOKEN, Intent
from assistant.dialogue.numbers import unit_of, value_of
from assistant.hearing.automaton import Automaton, Span
from assistant.hearing.grammar import Grammar, combined, load_grammar, modes, pronunciations, words_of
from assistant.hearing.meaning import intents_of

Numbers = tuple[int, ...]
Spans = tuple[Span, ...]

NAMES = {
    "position": ["front left", "cylinder 1 inlet"],
    "reason": ["bearing on order"],
    "thing": ["cover gasket"],
    "step": ["three", "twelve"],
    "person": ["the second fitter"],
    "value": ["bore", "end float"],
}
THINGS = {
    "part": ["rocker cover"],
    "kit": ["o ring"],
    "tool": ["rag"],
    "supply": ["engine oil"],
    "letter": ["bravo", "x ray"],
    "digit": ["seven"],
    "loose": ["loose part"],
    "applied": ["applied"],
    "inside": ["inside"],
    "told": ["one dot"],
}
"""What a procedure brings that takes parts off; tests/hearing/test_grammar_parts.py says what it is good for."""
STEPS = ("step", "tighten", "measure", "wait")

MEANINGS = {
    "what did i measure": "value-of",
    "from which numbers": "how-so",
    "next": "next",
    "next step": "next",
    "next note": "next",
    "back": "back",
    "go back": "back",
    "done": "done",
    "done next": "done next",
    "yes next": "yes next",
    "affirmative next": "yes next",
    "skip": "skip",
    "leave it out": "skip",
    "undo": "undo",
    "undo that": "undo",
    "finish": "finish",
    "finish the job": "finish",
    "repeat": "repeat",
    "say again": "repeat",
    "where am i": "where",
    "caution": "caution",
    "say the caution": "caution",
    "how many left": "left",
    "what is open": "open",
    "what did i do last": "last",
    "how much longer": "time-left",
    "begin the pass again": "pass-again",
    "another wrench": "other-wrench",
    "what is left": "open",
    "tool": "tool",
    "which tool": "tool",
    "torque": "torque",
    "what torque": "torque",
    "sequence": "sequence",
    "what order": "sequence",
    "all done": "all-done",
    "pass complete": "all-done",
    "all done next": "all-done next",
    "pass complete next": "all-done next",
    "count me through": "count",
    "clicked": "click",
    "click": "click",
    "seated": "click",
    "wait": "hold",
    "which one": "call-again",
    "with the adapter": "adapter",
    "start timer": "timer-start",
    "start the timer": "timer-start",
    "stop timer": "timer-stop",
    "stop the timer": "timer-stop",
    "how long left": "timer-left",
    "yes": "yes",
    "affirmative": "yes",
    "acknowledged": "yes",
    "understood": "yes",
    "no": "no",
    "negative": "no",
    "cancel": "cancel",
    "note": "note",
    "take a note": "note",
    "end note": "note-end",
    "end of note": "note-end",
    "play notes": "notes-play",
    "play my notes": "notes-play",
    "picture": "picture",
    "again": "repeat",
    "pause": "pause",
    "take a break": "pause",
    "resume": "resume",
    "carry on": "resume",
    "stop": "stop",
    "stop repeat": "stop repeat",
    "quiet": "quiet",
    "be quiet": "quiet",
    "louder": "louder",
    "softer": "softer",
    "slower": "slower",
    "faster": "faster",
    "help": "help",
    "what can i say": "help",
}
REASONS = {
    "part missing",
    "not fitted",
    "not needed",
    "already done",
    "do it later",
    "on instruction",
    "damaged",
    "no tool",
    "other reason",
    "bearing on order",
    "new bolt",
    "new screw",
    "new stud",
    "thread insert",
    "left as it is",
    "the second fitter",
}


_MATTERS = ("fault found", "found a fault", "ask the owner", "for next time")
_WHICH = (
    "last note",
    "notes for this step",
    "notes for the step",
    "notes from yesterday",
    "from yesterday",
)
_GASKET = {"thing": "cover gasket"}
NOTES = {
    **{words: Intent(name="note", slots={"matter": words}) for words in _MATTERS},
    **{words: Intent(name="notes-play", slots={"which": words}) for words in _WHICH},
    **{f"note about {the}cover gasket": Intent(name="note", slots=_GASKET) for the in ("", "the ")},
    **{
        f"{play}notes on {the}cover gasket": Intent(name="notes-play", slots=_GASKET)
        for play in ("", "play ")
        for the in ("", "the ")
    },
}
"""Those that say what a note is for, or which notes are meant."""


@cache
def grammar_of(mode: str) -> Grammar:
    """Load a mode once for all tests, or the union of all of them."""
    if mode == "all":
        return combined([grammar_of(each) for each in modes()], "all")
    return load_grammar(mode, NAMES)


ALL = (*modes(), "all")


def walk(grammar: Grammar, choose: random.Random) -> tuple[str, ...]:
    """Say something at random, word by word, as the grammar allows."""
    said: list[str] = []
    while True:
        following = sorted(grammar.next_words(said))
        if grammar.is_whole(said) and (not following or choose.random() < 0.4):
            return tuple(said)
        said.append(choose.choice(following))


def readings(automaton: Automaton, words: tuple[str, ...]) -> list[tuple[Intent, ...]]:
    """Find what an utterance can mean in any reading at all, by trying every path."""
    states, accept = automaton._states, automaton._accept

    def paths(
        state: int, at: int, opened: tuple[int, ...], spans: tuple[Span, ...]
    ) -> Iterator[tuple[Span, ...]]:
        here = states[state]
        if state == accept and at == len(words):
            yield spans
        if at < len(words) and here.word == words[at]:
            yield from paths(here.after, at + 1, opened, spans)
        for target, mark in here.steps:
            if target not in automaton._live:
                continue
            if mark is None:
                yield from paths(target, at, opened, spans)
            elif mark.opens:
                yield from paths(target, at, (*opened, at), spans)
            else:
                yield from paths(target, at, opened[:-1], (*spans, Span(mark.tag, opened[-1], at)))

    meanings = [intents_of(words, spans) for spans in paths(automaton._start, 0, (), ())]
    return [meaning for n, meaning in enumerate(meanings) if meaning not in meanings[:n]]


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
    """Each phrase of each mode gives the intents that the table above names, with its slots."""
    grammar = grammar_of(mode)
    phrases = grammar.phrases(4000)
    assert phrases is not None
    for phrase in phrases:
        match = grammar.match(phrase.split())
        assert match is not None
        assert match.intents == expected(phrase), phrase


TABLE = {
    **{phrase: tuple(Intent(name=name) for name in names.split()) for phrase, names in MEANINGS.items()},
    **{phrase: (Intent(name="reason", slots={"reason": phrase}),) for phrase in REASONS},
    **{phrase: (intent,) for phrase, intent in NOTES.items()},
}
ONE_SLOT = (
    # How it begins and ends, the intent, its slot.
    ("note about ", "", "note", "position"),
    ("go to step ", "", "go-to", "step"),
    ("open step ", " again", "reopen", "step"),
    ("notes for step ", "", "notes-play", "step"),
    ("in ", "", "in-unit", "unit"),
    ("what was the ", "", "value-of", "name"),
    ("no ", "", "correct", "position"),
    ("", " again", "position-again", "position"),
    ("", " done", "position-done", "position"),
    ("", " clicked", "click", "position"),
    ("", " seated", "click", "position"),
)
STANDINGS = ("doubtful", "damaged", "stripped", "broken", "sound")
KINDS = ("number", "bolt", "nut")


def expected(phrase: str) -> tuple[Intent, ...]:
    """Work out from the table what a phrase must mean; positions are "number four done" and the like."""
    if phrase in TABLE:
        return TABLE[phrase]
    if phrase.endswith(STANDINGS):
        *place, standing = phrase.removeprefix("mark ").split()
        place = place[place[0] in KINDS :]  # the kind of fastener is no part of the place
        return (Intent(name="mark", slots={"position": " ".join(place), "standing": standing}),)
    after = (Intent(name="next"),) if phrase.endswith(" done next") else ()
    phrase = phrase.removesuffix(" next") if after else phrase
    for start, end, name, slot in ONE_SLOT:
        if phrase.startswith(start) and phrase.endswith(end):
            value = phrase.removeprefix(start).removesuffix(end)
            for kind in KINDS if slot == "position" else ():
                value = value.removeprefix(f"{kind} ")
            return (Intent(name=name, slots={slot: value}), *after)
    raise AssertionError(phrase)


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
    assert {"next", "done", "repeat", "back", "where am i", "note", "skip", "undo", "pause", "help"} <= common


@pytest.mark.parametrize("mode", [mode for mode in modes() if mode != "note"])
def test_stop_and_quiet_are_taken_in_every_mode(mode: str) -> None:
    """The voice can always be stopped, save while a note is being spoken."""
    assert grammar_of(mode).match(("stop",))
    assert grammar_of(mode).match(("quiet",))


@pytest.mark.parametrize("mode", modes())
def test_no_is_never_open_beside_note(mode: str) -> None:
    """Two words that sound nearly alike, one of which fails a check, are not offered together."""
    assert not (grammar_of(mode).is_whole(["no"]) and grammar_of(mode).is_whole(["note"]))


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


@given(seed=st.integers(min_value=0, max_value=2**32))
def test_every_measurement_that_can_be_said_has_a_value(seed: int) -> None:
    """Whatever number and unit the grammar lets through, the numbers room can read."""
    grammar = grammar_of("measure")
    match = grammar.match(walk(grammar, random.Random(seed)))
    assert match is not None
    for intent in match.intents:
        if intent.name == "measured":
            value_of(intent.slots["value"])
            if "unit" in intent.slots:
                unit_of(intent.slots["unit"])


@pytest.mark.parametrize("mode", ALL)
@settings(max_examples=30)
@given(seed=st.integers(min_value=0, max_value=2**32))
def test_what_is_said_word_by_word_is_matched_with_one_meaning(mode: str, seed: int) -> None:
    """A walk along the next words always ends in a match, always the same, and no reading differs."""
    grammar = grammar_of(mode)
    said = walk(grammar, random.Random(seed))
    match = grammar.match(said)
    assert match is not None
    assert match == grammar.match(said)
    assert match.intents
    assert readings(grammar._automaton, said) == [match.intents]
    assert set(said) <= grammar.words
    assert not any(grammar.next_words((*said[:n], "nonsense")) for n in range(len(said)))


@pytest.fixture(scope="module")
def decoder() -> pocketsphinx.Decoder:
    """Make a decoder with its own dictionary and our pronunciations."""
    pocketsphinx.set_loglevel("ERROR")
    made = pocketsphinx.Decoder(lm=None)
    for word, sounds in pronunciations().items():
        known = made.lookup_word(word) is not None
        made.add_word(f"{word}(2)" if known else word, sounds, update=True)
    return made


@pytest.mark.parametrize("mode", ALL)
def test_a_decoder_knows_every_word(mode: str, decoder: pocketsphinx.Decoder) -> None:
    """All words are in the decoder's dictionary or in our list of pronunciations."""
    known = load_grammar(mode) if mode != "all" else grammar_of("all")
    assert [word for word in sorted(known.words) if decoder.lookup_word(word) is None] == []


@pytest.mark.parametrize("mode", ALL)
def test_a_decoder_takes_the_very_same_language(mode: str, decoder: pocketsphinx.Decoder) -> None:
    """Pocketsphinx builds a network from the flat text that accepts and refuses what we do."""
    grammar = grammar_of(mode)
    decoder.add_jsgf_string(mode, grammar.jsgf())
    network = decoder.get_fsg(mode)
    choose = random.Random(mode)
    vocabulary = sorted(grammar.words)
    for _ in range(150):
        said = list(walk(grammar, choose))
        assert network.accept(" ".join(said))
        said[choose.randrange(len(said))] = choose.choice(vocabulary)
        assert bool(network.accept(" ".join(said))) == (grammar.match(said) is not None), said
