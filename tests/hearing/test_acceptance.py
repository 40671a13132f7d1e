from dataclasses import replace

import pytest

from assistant.dialogue.intents import SPOKEN
from assistant.hearing.acceptance import CONSEQUENCES, ROWS, Consequence, Verdict, judge, judge_both
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.engines import engines
from assistant.hearing.grammar import load_grammar

STEP = load_grammar("step")


def decoded(*guesses: tuple[str, float], free: str = "", fit: float = -1.0) -> Decoded:
    """Make what an engine might give, best first."""
    made = tuple(Guess(words=tuple(words.split()), score=score) for words, score in guesses)
    return Decoded(guesses=made, free=Guess(words=tuple(free.split()), score=-2.0), signals={"fit": fit})


def test_sure_command_is_accepted() -> None:
    """A good score that the free hearing agrees with is acted on."""
    verdict = judge(decoded(("done", -0.1), free="done"), STEP, engine="whisper", speech_s=0.45)
    assert verdict.accepted
    assert verdict.match is not None
    assert [intent.name for intent in verdict.match.intents] == ["done"]


def test_doubtful_command_is_asked_again() -> None:
    """What may have been meant is neither acted on nor ignored."""
    verdict = judge(decoded(("done", -0.9), free="dun", fit=-2.5), STEP, engine="whisper", speech_s=0.45)
    assert (verdict.accepted, verdict.asked) == (False, True)


def test_talk_is_let_be() -> None:
    """What fits badly and was heard as something else freely brings nothing, not even a question."""
    verdict = judge(
        decoded(("done", -4.0), free="dinner time", fit=-8.0), STEP, engine="whisper", speech_s=2.0
    )
    assert (verdict.accepted, verdict.asked) == (False, False)


def test_two_meanings_too_close_are_not_guessed_between() -> None:
    """Where another meaning is as likely, it is asked again."""
    close = decoded(("done", -0.5), ("next", -0.55), free="done")
    assert not judge(close, STEP, engine="whisper", speech_s=0.45).accepted


@pytest.mark.parametrize(("speech_s", "accepted"), [(0.1, False), (0.3, True)])
def test_a_blow_is_no_word(speech_s: float, *, accepted: bool) -> None:
    """What sounds like a word for certain, but lasts no longer than a bark or a blow of a hammer, is not acted on."""
    sure = Decoded(
        guesses=(Guess(words=("stop",), score=0.0),),
        free=Guess(words=("stop",), score=-0.1),
        signals={"words_ahead": 3.0, "sounds": 0.0, "sounds_ahead": 3.0, "speech": 8.0},
    )
    assert judge(sure, STEP, engine="whisper-shop", speech_s=speech_s).accepted is accepted


def test_what_the_grammar_refuses_does_not_count() -> None:
    """A guess that is no sentence of the grammar is never acted on."""
    verdict = judge(decoded(("done done next", -0.1)), STEP, engine="whisper", speech_s=1.0)
    assert (verdict.match, verdict.accepted) == (None, False)


@pytest.mark.parametrize(
    ("first", "second", "accepted"),
    [(0.7, 0.78, True), (0.35, 0.95, True), (0.4, 0.5, False), (0.7, 0.0, False)],
)
def test_doubt_twice_is_less_doubt(first: float, second: float, *, accepted: bool) -> None:
    """What was heard the same twice needs less each time; once nearly sure does not make up for once unlikely."""
    verdict = judge_both(first, doubtful(second), engine="whisper-shop")
    assert (verdict.accepted, verdict.asked) == (accepted, not accepted)
    assert bool(verdict.why) is not accepted


def test_a_rival_stays_a_rival_however_often_it_is_heard() -> None:
    """Where another meaning is as likely the second time, it is asked again."""
    rivalled = replace(doubtful(0.79), rivalled=True)
    assert not judge_both(0.79, rivalled, engine="whisper-shop").accepted


def doubtful(confidence: float) -> Verdict:
    """Make a verdict on "done" that is not sure enough."""
    match = STEP.match(("done",))
    return Verdict(
        accepted=False, match=match, confidence=confidence, heard=("done",), asked=True, why="not sure"
    )


def test_taking_back_needs_more_than_hearing_again() -> None:
    """The bars rise with the consequence, for each engine."""
    for row in ROWS.values():
        bars = [row.needed[each] for each in (Consequence.LIGHT, Consequence.RECORD, Consequence.GRAVE)]
        assert bars == sorted(bars)
        assert row.asked < bars[0]


@pytest.mark.parametrize("name", [entry.name for entry in engines()])
def test_every_engine_has_its_row(name: str) -> None:
    """No engine is believed without weights of its own."""
    assert name in ROWS


def test_consequences_name_intents() -> None:
    """The table of consequences names no intent that does not exist."""
    assert set(CONSEQUENCES) <= set(SPOKEN)
