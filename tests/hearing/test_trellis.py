"""The search for the sentence that explains sounds best, against enumeration of all paths."""

import math
from collections.abc import Mapping, Sequence
from functools import cache
from itertools import groupby, product

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing.grammar import Grammar, load_grammar, modes, parse_grammar
from assistant.hearing.phone_net import BLANK, CLASSES, Chain, Net, net_of
from assistant.hearing.trellis import Floats, best, forced, free

INVENTED = {"qa": "AH", "qaab": "AH EY", "qab": "EY EY", "qabba": "EY AH"}
"""Words that no dictionary has, of two sounds, so that every path can be tried. "A" itself may be either sound."""
NAMES = {"group": ["left bolt", "right bolt", "rear cover"]}


def grammar(body: str, sounds: Mapping[str, str] = INVENTED) -> Grammar:
    """Make a grammar of one rule, with sounds of its own."""
    made = parse_grammar(f"#JSGF V1.0;\ngrammar t;\npublic <t> = {body};\n", name="t.jsgf")
    return Grammar("t", made.root, made.rules, "t.jsgf", sounds)


@cache
def net_for(mode: str) -> Net:
    """Make the net of a mode, with a few names."""
    return net_of(load_grammar(mode, NAMES))


def noise(frames: int, seed: int) -> Floats:
    """Make log probabilities at random."""
    raw = np.random.default_rng(seed).normal(scale=2, size=(frames, len(CLASSES)))
    logs: Floats = raw - np.log(np.exp(raw).sum(axis=1, keepdims=True))
    return logs


def heard(phones: Sequence[int]) -> Floats:
    """Make log probabilities that are nearly sure of one class in each frame."""
    logs = np.full((len(phones), len(CLASSES)), math.log(0.1 / 39))
    logs[np.arange(len(phones)), phones] = math.log(0.9)
    return logs


def said(net: Net, text: str) -> list[int]:
    """Say a text, two frames for each sound with a blank after it, with silence around it."""
    phones = [phone for word in text.split() for phone in net.ways[word][-1]]
    return [BLANK] * 5 + [label for phone in phones for label in (phone, phone, BLANK)] + [BLANK] * 5


def collapsed(logs: Floats, classes: Sequence[int]) -> dict[Chain, float]:
    """Give the best score of each row of sounds: that of the best path which gives it.

    A path gives the sounds that are left when repeats, and then blanks, are taken out: this is the definition of
    Graves and others (2006), from memory.
    """
    found: dict[Chain, float] = {}
    for path in product(classes, repeat=len(logs)):
        sounds = tuple(label for label, _ in groupby(path) if label != BLANK)
        score = float(logs[np.arange(len(logs)), path].sum())
        found[sounds] = max(score, found.get(sounds, score))
    return found


def enumerated(made: Grammar, net: Net, logs: Floats) -> dict[tuple[str, ...], float]:
    """Score all sentences that fit into the frames, by trying every path."""
    known = collapsed(logs, sorted({BLANK, *net.chains.phones.tolist()}))
    scores = {}
    for length in range(1, len(logs) + 1):
        for words in product(sorted(made.words), repeat=length):
            if made.match(words):
                rows = (sum(ways, ()) for ways in product(*(net.ways[word] for word in words)))
                scores[words] = max(known.get(row, -math.inf) for row in rows)
    return {words: score for words, score in scores.items() if score > -math.inf}


@pytest.mark.parametrize(
    "body",
    [
        "qa | qaab | qab | qabba",
        "[qa] (qaab | qabba) [qa]",
        "qaab* qa",
        "(qa | qabba)+",
        "qa qa | qab [qaab]",
        "(qa | qa qa) [qa qab]",
        "[qa] (qabba qa)*",
        "a | qa a | a qab",
        "(a | qabba)+",
    ],
)
@pytest.mark.parametrize("frames", [1, 2, 4, 6])
def test_finds_what_enumeration_finds(body: str, frames: int) -> None:
    """All sentences that fit into the frames come, best first, with the scores of their best paths."""
    made = grammar(body)
    net = net_of(made)
    logs = noise(frames, seed=frames)
    found = best(net, logs, most=10_000)
    assert {guess.words: guess.score for guess in found} == pytest.approx(enumerated(made, net, logs))
    assert [guess.score for guess in found] == sorted((guess.score for guess in found), reverse=True)
    assert best(net, logs, most=2) == found[:2]
    assert [forced(net, logs, guess.words) for guess in found] == [guess.score for guess in found]


def test_same_sounds_need_a_blank_between() -> None:
    """Without a frame for the blank, two same sounds cannot follow each other, in a word or across words."""
    net = net_of(grammar("qab | qa qa | qa qabba"))
    assert [guess.words for guess in best(net, noise(2, seed=1))] == []
    assert {guess.words for guess in best(net, noise(3, seed=1))} == {("qab",), ("qa", "qa"), ("qa", "qabba")}


def test_long_sound_is_not_taken_for_two_words() -> None:
    """The end of "zero" is no "oh", however long it lasts, and an "oh" after it is one."""
    net = net_of(grammar("(zero | oh | five)+"))
    for text in ("zero five", "zero oh five", "oh oh five"):
        assert best(net, heard(np.repeat(said(net, text), 3).tolist()))[0].words == tuple(text.split())


def test_word_may_sound_in_each_of_its_ways() -> None:
    """A word that sounds in one of its ways scores the same as in another."""
    net = net_of(grammar("either | other"))
    first, second = (heard(chain) for chain in net.ways["either"])
    for logs in (first, second):
        assert best(net, logs)[0].words == ("either",)
        assert forced(net, logs, ["either"]) == pytest.approx(3 * math.log(0.9))


def test_rivals_come_next() -> None:
    """After the phrase that was said comes the one that differs in a word."""
    net = net_of(grammar("tighten (left bolt | right bolt | rear cover)"))
    found = best(net, heard(said(net, "tighten left bolt")))
    assert [" ".join(guess.words) for guess in found][:2] == ["tighten left bolt", "tighten right bolt"]
    assert len(found) == 3


@pytest.mark.parametrize(
    ("mode", "text"),
    [
        ("tighten", "done"),
        ("tighten", "repeat"),
        ("measure", "two point zero five"),
        ("value", "no one hundred twenty three thou"),
        ("step", "done"),
    ],
)
def test_finds_what_was_said_in_a_mode(mode: str, text: str) -> None:
    """What is said clearly is the best sentence of the mode's grammar, and explains all that was heard."""
    net = net_for(mode)
    logs = heard(said(net, text))
    assert best(net, logs)[0].words == tuple(text.split())
    assert best(net, logs)[0].score == pytest.approx(free(logs))


@pytest.mark.parametrize("mode", modes())
def test_scores_are_those_of_the_words_by_themselves(mode: str) -> None:
    """In every mode the sentences differ, are of the grammar, and score as when nothing else may be said."""
    known = load_grammar(mode, NAMES)
    net = net_of(known)
    logs = noise(60, seed=3)
    found = best(net, logs, most=8)
    assert len({guess.words for guess in found}) == len(found) > 0
    for guess in found:
        assert known.match(guess.words)
        assert guess.score == pytest.approx(forced(net, logs, guess.words))
        assert guess.score <= free(logs)


def test_digits_may_go_on_without_end() -> None:
    """A loop in the grammar is followed as often as it was said."""
    net = net_of(grammar("(one | two | three)+"))
    text = "one one two three three three one two"
    assert best(net, heard(said(net, text)))[0].words == tuple(text.split())


def test_equal_sentences_do_not_hold_it_up() -> None:
    """Where nothing is likelier than anything else, sentences are found all the same."""
    assert len(best(net_for("value"), np.full((100, len(CLASSES)), -3.0), most=20)) == 20


def test_too_few_frames_give_nothing() -> None:
    """No frames, or fewer than the shortest sentence has sounds, are no error."""
    net = net_of(grammar("qaab | qabba"))
    nothing = noise(0, seed=1)
    assert best(net, nothing) == best(net, noise(1, seed=1)) == ()
    assert forced(net, noise(1, seed=1), ["qaab"]) == forced(net, nothing, ["qaab"]) == -math.inf
    assert forced(net, nothing, []) == free(nothing) == 0


def test_no_words_score_as_silence() -> None:
    """The score of no words is that of blanks alone."""
    logs = noise(9, seed=1)
    assert forced(net_of(grammar("qa")), logs, []) == pytest.approx(logs[:, BLANK].sum())


def test_words_beyond_the_grammar_can_be_scored() -> None:
    """A word that the grammar lacks is scored as the dictionary has it."""
    chain: Chain = tuple(CLASSES.index(sound) for sound in ["G", "AE", "S", "K", "AH", "T"])
    assert forced(net_of(grammar("qa")), heard(chain), ["gasket"]) == pytest.approx(6 * math.log(0.9))


def test_impossible_frames_are_no_error() -> None:
    """A class that cannot be in a frame, of probability nought, only makes a sentence unlikely."""
    net = net_of(grammar("qa | qaab"))
    logs = np.where(heard([CLASSES.index("AH")] * 4) > -1, 0.0, -np.inf)
    assert [guess.words for guess in best(net, logs)] == [("qa",), ("qaab",)]
    assert best(net, logs)[0].score == 0


@pytest.mark.parametrize("sounds", ["AA XX", ""])
def test_sounds_that_are_none_are_told(sounds: str) -> None:
    """A grammar with a word of unknown sounds, or of none, is refused."""
    with pytest.raises(HearingError, match="sound"):
        net_of(grammar("qa", {"qa": sounds}))
