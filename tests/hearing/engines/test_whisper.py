import pytest

from assistant.hearing.engines import open_engine
from assistant.hearing.engines.whisper import completed, missing, once
from assistant.hearing.grammar import load_grammar, words_of
from assistant.simulate.noise import mix, workshop
from assistant.simulate.voices import mechanics
from assistant.sound import Samples, join, silence

TIGHTEN = load_grammar("tighten")


def spoken(words: str) -> Samples:
    """Let the first mechanic say words in workshop noise at 20 dB."""
    whole = join([silence(0.4), mechanics()[0].say(words, 3), silence(0.4)])
    return mix(whole, workshop(4.0, 1), 20.0).samples


@pytest.mark.skipif(bool(missing()), reason="the weights of the extra loud are not installed")
@pytest.mark.parametrize("words", ["number three done", "number four done", "how many left", "repeat"])
def test_commands_are_decoded_within_the_grammar(words: str) -> None:
    """The best guess that the grammar accepts is what was said."""
    engine = open_engine("whisper")
    guesses = engine.decode(spoken(words), TIGHTEN).guesses
    best = next(guess.words for guess in guesses if TIGHTEN.match(guess.words))
    assert best == words_of(words)


def test_repeated_words_are_taken_once() -> None:
    """Short windows make the model repeat itself."""
    assert once(("go", "go", "go")) == ("go",)
    assert once(("done", "next", "done", "next", "done")) == ("done", "next")
    assert once(("one", "one", "zero")) == ("one", "one", "zero")


def test_word_that_was_cut_off_is_completed_where_only_one_fits() -> None:
    """Rare words come in pieces; what could be several phrases stays as it is."""
    assert completed(("what", "tor"), TIGHTEN) == ("what", "torque")
    assert completed(("whattor",), TIGHTEN) == ("what", "torque")
    assert completed(("s",), TIGHTEN) == ("s",)
