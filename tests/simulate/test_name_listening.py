"""Names spoken by synthetic voices, heard by the product's recogniser."""

import random
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.hearing.grammar import Grammar, words_of
from assistant.hearing.opening import open_recogniser
from assistant.hearing.pronouncing import grammar_for
from assistant.hearing.sayable import KINDS, Name, names
from assistant.procedure.load import load_procedure, parse_procedure
from assistant.procedure.route import route_through
from assistant.simulate.ears import Speech
from assistant.simulate.name_listening import (
    CARRIERS,
    HeardName,
    Listener,
    confusions,
    hear_names,
    open_listener,
    proven,
    weakly_heard,
)
from assistant.simulate.noise import workshop

TEXT = """
procedure: Named bench
revision: 1
about: Invented, for the tests.
cautions: Lock the drive.
groups: {carrier bolts: {count: 2, stages: [snug]}}
steps: [{step: a, say: Fit it., tighten: carrier bolts}]
"""


def _nothing(_: Name) -> str:
    return ""


def _longer(name: Name) -> str:
    return f"say drive {name.words}"


def test_every_kind_of_name_can_be_said() -> None:
    """For each kind of name there is a way to say it that the grammar of its place takes."""
    path = Path(__file__).parent.parent / "talks" / "bench" / "top-end.yaml"
    procedure = load_procedure(path)
    found = names(procedure)
    for name in found:
        mode, carrier = CARRIERS[name.kind]
        assert grammar_for(route_through(procedure), mode).match(words_of(carrier.format(name.words)))
    assert CARRIERS.keys() == set(KINDS)
    assert {name.kind for name in found} == set(KINDS) - {"person", "value"}
    assert all(name.path for name in found)


def test_names_are_heard_as_themselves_without_noise() -> None:
    """Each name is spoken by every voice; far above the noise most of them are heard as what they are."""
    listener = open_listener(40, engine="pocketsphinx")
    heard = list(hear_names(parse_procedure(TEXT, name="bench.yaml"), listener))
    assert {each.said for each in heard} == {"torque carrier bolts", "note about carrier bolts"}
    assert sum(each.right for each in heard) * 2 > len(heard)
    assert all(each.right or each.heard != "torque carrier bolts" for each in heard)


def test_confusions_are_told_by_name() -> None:
    """A name is told once, with what it was taken for and how many voices were not understood."""
    name, other = names(parse_procedure(TEXT, name="bench.yaml"))
    rows = [
        HeardName(name, "torque carrier bolts", "steady", "torque cover bolts", right=False),
        HeardName(name, "torque carrier bolts", "quick", "", right=False),
        HeardName(name, "torque carrier bolts", "large", "torque carrier bolts", right=True),
        HeardName(other, "note about carrier bolts", "large", "note carrier bolts", right=True),
    ]
    [found] = confusions(rows, 10, _nothing)
    assert found.path == ("groups", "carrier bolts")
    assert found.what == (
        "'torque carrier bolts' at 10 dB was taken for 'torque cover bolts', "
        "and not understood from 1 of 3 voices"
    )


def test_asked_again_by_a_few_is_let_be() -> None:
    """A name that some voices have to say twice is not told; one that most have to is, and is no confusion."""
    name, _ = names(parse_procedure(TEXT, name="bench.yaml"))
    rows = [HeardName(name, "torque carrier bolts", str(n), "", right=n > 0) for n in range(3)]
    assert [*weakly_heard(rows, 10, _nothing)] == []
    unheard = [HeardName(name, "torque carrier bolts", str(n), "", right=n > 1) for n in range(3)]
    [found] = weakly_heard(unheard, 10, _nothing)
    assert found.what == "'torque carrier bolts' at 10 dB was not understood from 2 of 3 voices"
    assert "it is asked again" in found.do
    assert [*confusions(unheard, 10, _nothing)] == []


def test_a_name_that_was_listened_to_is_proposed() -> None:
    """What is known to be heard better stands where the author is told what to do, for a mistaken and a lost name."""
    name, other = names(parse_procedure(TEXT, name="bench.yaml"))
    rows = [
        HeardName(name, "torque carrier bolts", "steady", "torque cover bolts", right=False),
        HeardName(other, "note about carrier bolts", "steady", "", right=False),
    ]
    told = [*confusions(rows, 10, _longer), *weakly_heard(rows, 10, _longer)]
    assert [each.do for each in told] == ["say drive carrier bolts"] * 2


def test_words_that_drown_every_name_are_told_once() -> None:
    """Where most names are lost in the same words, these are told, and no author is sent to rename them all."""
    name, _ = names(parse_procedure(TEXT, name="bench.yaml"))
    many = [replace(name, words=words) for words in ("carrier bolts", "lid bolts", "rod bolts")]
    rows = [
        HeardName(each, f"torque {each.words}", str(n), "", right=each is many[2])
        for each in many
        for n in range(2)
    ]
    [found] = weakly_heard(rows, 10, _longer)
    assert found.what == (
        "'torque ...' at 10 dB was not understood from most voices with carrier bolts, lid bolts: "
        "it is rather the words around the names than the names"
    )


class _Deaf(Listener):
    """Understands nothing but what it is told the words of, and counts as one voice."""

    def hear(self, name: Name, grammar: Grammar) -> Iterator[HeardName]:
        said = CARRIERS[name.kind][1].format(name.words)
        right = name.words == "drive carrier bolts" and grammar.match(words_of(said)) is not None
        yield HeardName(name, said, "steady", said if right else "", right=right)


@pytest.mark.parametrize(
    ("step", "do"),
    [("fit-drive", "'drive carrier bolts' was understood from 1 of 1"), ("fit-rear", "it is asked again")],
)
def test_a_longer_name_is_proposed_only_where_it_was_heard(step: str, do: str) -> None:
    """Words of its steps are tried before a name that is lost; where they are lost too, none is proposed."""
    listener = _Deaf(Speech((), workshop(1, 1), 10, random.Random(1)), open_recogniser("pocketsphinx"))
    told = [*proven(parse_procedure(TEXT.replace("step: a", f"step: {step}"), name="x.yaml"), listener)]
    assert [(found.do.startswith(do), level) for found, level in told] == [(True, "advice")] * 2
