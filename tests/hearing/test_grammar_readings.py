"""Whatever the grammars let through has one meaning, and decoders take the very same language."""

import random
from collections.abc import Iterator

import pocketsphinx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import unit_of, value_of
from assistant.hearing.automaton import Automaton, Span
from assistant.hearing.grammar import load_grammar, pronunciations
from assistant.hearing.meaning import intents_of
from tests.hearing.spoken import ALL, grammar_of, walk


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
