"""The engine that is always there."""

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing.engines.pocketsphinx import PocketsphinxEngine
from assistant.hearing.grammar import Grammar, load_grammar, modes, parse_grammar
from assistant.sound import RATE
from assistant.speaking.engines.espeak import EspeakVoice


@pytest.fixture(scope="module")
def engine() -> PocketsphinxEngine:
    """Open it once."""
    return PocketsphinxEngine()


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    """Give two phrases that sound nothing alike."""
    return parse_grammar(
        "#JSGF V1.0;\ngrammar two;\npublic <two> = how many left {left} | repeat {repeat};\n", name="two"
    )


@pytest.mark.parametrize("phrase", ["how many left", "repeat"])
def test_a_spoken_phrase_is_the_best_guess(engine: PocketsphinxEngine, grammar: Grammar, phrase: str) -> None:
    """Real sound goes in and the phrase comes out, with a score to hold the free one against."""
    spoken = EspeakVoice().render(phrase).at(RATE).samples
    found = engine.decode(np.pad(spoken, RATE // 2), grammar)
    assert found.guesses[0].words == tuple(phrase.split())
    assert len({guess.words for guess in found.guesses}) == len(found.guesses)
    assert found.free is not None
    assert np.isfinite([found.guesses[0].score, found.free.score]).all()


def test_silence_raises_nothing(engine: PocketsphinxEngine, grammar: Grammar) -> None:
    """An utterance without any sound, or without samples, is no error."""
    for samples in (np.zeros(RATE, dtype=np.float32), np.zeros(0, dtype=np.float32)):
        assert isinstance(engine.decode(samples, grammar).guesses, tuple)


def test_a_word_it_cannot_hear_is_told_before_it_is_needed(engine: PocketsphinxEngine) -> None:
    """Such words can be listed, and a grammar with one is refused with its name."""
    assert engine.unknown(["repeat", "qwrtzl"]) == ("qwrtzl",)
    strange = parse_grammar("#JSGF V1.0;\ngrammar odd;\npublic <odd> = qwrtzl {repeat};\n", name="odd")
    with pytest.raises(HearingError, match=r"'qwrtzl'.*pronunciations"):
        engine.decode(np.zeros(RATE, dtype=np.float32), strange)


@pytest.mark.parametrize("mode", modes())
def test_it_can_hear_every_word_of_every_mode(engine: PocketsphinxEngine, mode: str) -> None:
    """The fallback is of use only if each word has a pronunciation."""
    assert engine.unknown(load_grammar(mode).words) == ()
