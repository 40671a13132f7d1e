from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest

from assistant.evaluate import played as evaluate_played
from assistant.evaluate.corpus import read_corpus
from assistant.evaluate.played import Played, play
from assistant.evaluate.scoring import Outcome
from assistant.evaluate.wanted import Case, cases
from assistant.hearing.acceptance import ROWS, Consequence
from assistant.hearing.endpointing import BLOCK_S, Limits, Utterance
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.grammar import Grammar, load_grammar
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.hearing.sources import Source
from assistant.sound import RATE, Samples

STEP = load_grammar("step")
DECODE_S = 0.25


class Clock:
    """The processor's time, which only decoding moves on."""

    def __init__(self) -> None:
        self.now_s = 5.0

    def __call__(self) -> float:
        """Give the time."""
        return self.now_s


CLOCK = Clock()


@pytest.fixture(autouse=True)
def _no_other_time_passes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(evaluate_played, "process_time", CLOCK)


class Told:
    """An engine that hears what it is told to, as sure as it is told to be."""

    name = "whisper"

    def __init__(self, words: str, fit: float = 0.0) -> None:
        self._words, self._fit = tuple(words.split()), fit
        self.lengths_s: list[float] = []

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Hear the words, and something else that means another thing."""
        del grammar
        self.lengths_s.append(len(samples) / RATE)
        CLOCK.now_s += DECODE_S
        guesses = (Guess(words=self._words, score=-0.1), Guess(words=("undo",), score=-3.1))
        return Decoded(guesses=guesses, free=guesses[0], signals={"fit": self._fit})

    def unknown(self, words: Iterable[str]) -> tuple[str, ...]:
        """Know every word."""
        return tuple(words)[:0]


def case(corpus: Path, text: str, snr: str = "clean") -> Case:
    """Give the case of a text at a ratio."""
    found = read_corpus(corpus)
    every = cases(found, found.part("noise"), [snr], STEP, seed=1, limit=None)
    return next(each for each in every if " ".join(each.clip.words) == text)


def heard(corpus: Path, engine: Told, text: str = "done") -> Played:
    """Play the clip of a text."""
    return play(case(corpus, text), Recogniser(engine), STEP)


def test_speech_is_cut_out_decoded_and_judged(spoken_corpus: Path) -> None:
    """The engine gets the utterance that the product's endpointing cut out, and no more."""
    engine = Told("done")
    found = heard(spoken_corpus, engine)
    assert (found.outcome, found.said) == (Outcome.RIGHT, ["done"])
    [length_s] = engine.lengths_s
    assert length_s < found.seconds - 1
    [utterance] = found.heard
    assert utterance.sound_s == pytest.approx(length_s, abs=1e-3)


def test_latency_is_hang_over_and_decoding_without_waiting(spoken_corpus: Path) -> None:
    """It counts from the end of the speech in the clip, in the stream's time, and adds what decoding took."""
    latency_s = heard(spoken_corpus, Told("done")).latency_s
    assert latency_s is not None
    pause_s = Limits().pause_s
    assert latency_s == pytest.approx(pause_s + DECODE_S, abs=0.35)


def test_decoding_that_began_early_is_not_counted_twice(
    spoken_corpus: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was decoded while the hang-over ran costs only what is left of it."""

    def early(
        stream: Source, recogniser: Recogniser, grammar_now: Callable[[], Grammar]
    ) -> Iterator[Recognised]:
        found = None
        for number, block in enumerate(stream.blocks()):
            if number == 0:
                found = recogniser.recognise(Utterance(block, 0.0, BLOCK_S), grammar_now())
            if number == 2 and found:
                yield found

    monkeypatch.setattr(evaluate_played, "listen", early)
    [utterance] = heard(spoken_corpus, Told("done")).heard
    assert utterance.at_s == pytest.approx(max(3 * BLOCK_S, BLOCK_S + DECODE_S), abs=1e-3)


def test_the_wrong_words_are_wrong_only_if_acted_on(spoken_corpus: Path) -> None:
    """The same guess does nothing where it is not sure."""
    assert heard(spoken_corpus, Told("next")).outcome is Outcome.WRONG
    unsure = heard(spoken_corpus, Told("next", fit=-1000.0))
    assert unsure.outcome in {Outcome.AGAIN, Outcome.IGNORED}
    assert unsure.heard[0].why


def test_evidence_is_kept_for_who_fits_acceptance(spoken_corpus: Path) -> None:
    """Each utterance tells what speaks for its best guess, what was demanded, and how near another meaning came."""
    [utterance] = heard(spoken_corpus, Told("done", fit=-1.5)).heard
    assert set(utterance.evidence) == {"score", "gap", "agrees", "length", "brief", "fit"}
    assert utterance.margin == pytest.approx(3.0)
    assert utterance.demand == ROWS["whisper"].needed[Consequence.RECORD]
    assert utterance.guesses[0] == ("done", -0.1)
    assert utterance.free == ("done", -0.1)


def test_what_the_grammar_cannot_take_has_no_meaning(spoken_corpus: Path) -> None:
    """Talk is wrong to act on whatever is heard in it."""
    found = heard(spoken_corpus, Told("done"), "where did you park the van this morning")
    assert (found.said, found.outcome) == ([], Outcome.WRONG)


def test_a_result_comes_back_from_json_as_it_was(spoken_corpus: Path) -> None:
    """Also with a score of minus infinity, as some engines give."""
    found = heard(spoken_corpus, Told("done", fit=float("-inf")))
    assert Played.model_validate_json(found.model_dump_json()) == found
