"""Names that must be said: which are too alike, too short, or of unknown sound."""

from pathlib import Path

import pytest

from assistant.hearing.alike import TOO_ALIKE, distance
from assistant.hearing.pronouncing import pronounced
from assistant.hearing.sayable import name_findings
from assistant.paths import shipped
from assistant.procedure.load import load_procedure, parse_procedure

HEAD = """
procedure: Named bench
revision: 1
about: Invented, for the tests.
cautions: Lock the drive.
"""


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # The pairs that the spoken digits are there for, and others that are known to be confused; common practice,
        # no source.
        ("fifteen", "fifty"),
        ("thirteen", "thirty"),
        ("front", "runt"),
        ("pin", "bin"),
        ("cap", "gap"),
        ("shim", "shin"),
        ("main", "mean"),
        ("valve", "valves"),
        ("rocker bolts", "locker bolts"),
        ("anna", "hannah"),
    ],
)
def test_known_pairs_are_too_alike(one: str, other: str) -> None:
    """Pairs that are confused in practice are nearer than the limit."""
    assert distance(pronounced(one), pronounced(other)) < TOO_ALIKE


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("left", "right"),
        ("front", "rear"),
        ("upper", "lower"),
        ("intake", "exhaust"),
        ("head bolts", "rod bolts"),
        ("head gasket", "cover gasket"),
        ("anna", "bert"),
        ("shaft", "shim"),
    ],
)
def test_telling_pairs_are_apart(one: str, other: str) -> None:
    """Pairs that are told apart in practice are farther than the limit, however much they share."""
    assert distance(pronounced(one), pronounced(other)) >= TOO_ALIKE


def test_a_name_is_no_nearer_to_itself_than_nothing() -> None:
    """The same name has no distance, and the order of two does not matter."""
    one, other = pronounced("head bolts"), pronounced("rod bolts")
    assert distance(one, one) == 0
    assert distance(one, other) == distance(other, one)


def _found(text: str) -> list[tuple[tuple[str | int, ...], str, str]]:
    return [
        (each.path, each.what, each.do)
        for each, _ in name_findings(parse_procedure(HEAD + text, name="bench.yaml"))
    ]


def test_proposes_a_better_name() -> None:
    """Of two groups that sound alike, one is to be called with a word of its own step."""
    found = _found(
        "groups:\n"
        "  locker bolts: {count: 2, stages: [snug]}\n"
        "  rocker bolts: {count: 2, stages: [snug]}\n"
        "steps:\n"
        "  - {step: door, say: Fit the door., tighten: locker bolts}\n"
        "  - {step: carrier, say: Fit the carrier., tighten: rocker bolts}\n"
    )
    assert found == [
        (
            ("groups", "rocker bolts"),
            "'locker bolts' and 'rocker bolts' sound too alike to be told apart",
            "call it 'carrier rocker bolts', or rename one otherwise",
        )
    ]


def test_is_honest_where_there_is_no_better_name() -> None:
    """Where the step has no word that helps, that is said."""
    found = _found(
        "tools: [long drain pin, long drain bin]\n"
        "steps:\n"
        "  - {step: s1, say: Put both in., put_in: [long drain pin, long drain bin]}\n"
        "  - {step: s2, say: Take both out., take_out: [long drain pin, long drain bin]}\n"
    )
    [(_, what, do)] = found
    assert what == "'long drain bin' and 'long drain pin' sound too alike to be told apart"
    assert do.startswith("rename one; no better name was found")


def test_proposes_no_word_that_the_name_has_already() -> None:
    """A step called rockers offers nothing to rocker bolts."""
    [(_, _, do)] = _found(
        "groups:\n"
        "  locker bolts: {count: 2, stages: [snug]}\n"
        "  rocker bolts: {count: 2, stages: [snug]}\n"
        "steps:\n"
        "  - {step: lockers, say: Fit one., tighten: locker bolts}\n"
        "  - {step: rockers, say: Fit the other., tighten: rocker bolts}\n"
    )
    assert do.startswith("rename one; no better name was found")


def test_people_who_sound_alike_get_their_family_names() -> None:
    """A person has no place and no part: what tells two of them apart is the rest of the name."""
    found = _found("people: [anna, hannah]\nsteps: [{step: a, say: Do it.}]\n")
    what = "'anna' and 'hannah' sound too alike to be told apart"
    assert (("people", 1), what, "use the family name too") in found


def test_names_of_people_are_held_against_commands() -> None:
    """A person's name is said alone, so it must not sound like what can be said in its place."""
    found = _found("people: [hank, stopp]\nsteps: [{step: a, say: Do it.}]\n")
    assert ("people", 1) in [path for path, what, _ in found if "'stop'" in what]


@pytest.mark.parametrize("name", ["stop", "undo", "torque", "take a note"])
def test_a_name_that_is_a_command_is_told(name: str) -> None:
    """What is said to mean something else already is no name for a tool."""
    steps = f"[{{step: a, say: In., put_in: {name}}}, {{step: b, say: Out., take_out: {name}}}]"
    found = _found(f"tools: {{{name}: {{}}}}\nsteps: {steps}\n")
    assert (("tools", name), f"{name!r} is a command already, and cannot be a name as well") in [
        (path, what) for path, what, _ in found
    ]


def test_short_and_unknown_names_are_told() -> None:
    """A name of three sounds, and one that no dictionary has, are told, the guess with how to mend it."""
    found = _found(
        "parts: {qwibbet plate: {}}\n"
        "steps:\n"
        "  - {step: a, say: Fit it., use: qwibbet plate}\n"
        "  - {step: b, say: Measure it., measure: {name: bore, what: the bore, unit: mm}}\n"
    )
    assert [(path, what.split(";")[0]) for path, what, _ in found] == [
        (("steps", 1, "measure", "name"), "'bore' is too short to be heard well in noise"),
        (("parts", "qwibbet plate"), "no dictionary has 'qwibbet'"),
    ]
    assert found[1][2] == "write pronounce: {qwibbet: K W IH B EH T}, mended where it is wrong"


def test_an_author_who_says_how_it_sounds_hears_no_more_of_it() -> None:
    """A word with a pronunciation of the author's is not told as a guess."""
    steps = "parts: {qwibbet plate: {}}\nsteps: [{step: a, say: Fit it., use: qwibbet plate}]\n"
    assert _found(steps)
    assert not _found(f"pronounce: {{qwibbet: K W IH B AH T}}\n{steps}")


@pytest.mark.parametrize("path", sorted(shipped("procedures").glob("*.yaml")), ids=lambda path: path.stem)
def test_shipped_procedures_can_be_said(path: Path) -> None:
    """Nothing is to be found in the names of the procedures that travel with the program."""
    assert [*name_findings(load_procedure(path))] == []
