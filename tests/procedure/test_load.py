from pathlib import Path

import pytest

from assistant.errors import ProcedureError
from assistant.procedure.load import examples, find_procedure, load_procedure, parse_procedure
from assistant.procedure.route import route_through

GOOD = """\
procedure: A small cover
revision: 1
demonstration: true
about: Invented.
cautions: Wear eye protection.
groups:
  cover screws:
    count: 4
    layout: {circle: 4}
    stages: [snug, {torque: 8 N.m}]
parts:
  gasket: {use_once: true}
tools: [plug]
steps:
  - step: fit
    say: Fit the cover.
    use: gasket
  - step: screw-down
    say: Tighten it.
    tighten: cover screws
  - step: gap
    say: Measure the gap.
    measure: {what: the gap, most: 0.1 mm}
routes:
  short: [fit, screw-down]
"""

# What is changed in the good one: the old text, the new, and the line and the advice that must be told.
MISTAKES = [
    ("count: 4", "cuont: 4", "line 8", "did you mean count"),
    ("8 N.m", "8", "line 10", "write its unit"),
    ("8 N.m", "8 Nn", "line 10", "write"),
    ("tighten: cover screws", "tighten: cover screw", "line 20", "write cover screws"),
    ("use: gasket", "use: gaskets", "line 17", "write gasket"),
    ("step: screw-down", "step: fit", "line 18", "rename one"),
    ("step: fit", "step: Fit It", "line 15", "small letters"),
    ("[fit, screw-down]", "[fit, screwdown]", "line 25", "write screw-down"),
    ("most: 0.1 mm", "gauge: 0.1 mm", "line 23", "write least, most"),
    ("revision: 1", "revision: one", "line 2", "whole number"),
    ("about: Invented.\n", "", "line 1", "add the key about"),
    ("cautions: Wear eye protection.", "cautions: []", "line 5", ""),
    (
        "    use: gasket",
        "    tighten: cover screws\n    measure: {what: x, most: 1 mm}",
        "line 15",
        "two steps",
    ),
    ("tighten: cover screws", "tighten: {group: cover screws, stages: [3]}", "line 20", "from 1 to 2"),
    ("groups:", "groups: [", "line 6, column 9", "a bracket is opened here"),
]


def test_good_procedure_is_read() -> None:
    """A procedure as it should be is read whole."""
    procedure = parse_procedure(GOOD, name="good.yaml")
    assert [step.action for step in procedure.steps] == ["do", "tighten", "measure"]


@pytest.mark.parametrize(
    ("old", "new", "line", "advice"), MISTAKES, ids=[new.strip()[:30] for _, new, _, _ in MISTAKES]
)
def test_mistake_is_told_with_its_line_and_what_to_write(old: str, new: str, line: str, advice: str) -> None:
    """Each typical mistake of an author names file and line, and says what to write instead."""
    assert old in GOOD
    with pytest.raises(ProcedureError) as caught:
        parse_procedure(GOOD.replace(old, new, 1), name="bad.yaml")
    text = str(caught.value)
    assert "bad.yaml" in text
    assert line in text
    assert advice in text
    assert "\n" not in text


def test_missing_file_names_those_that_travel_with_the_program(tmp_path: Path) -> None:
    """A path that is not there proposes the shipped procedures."""
    with pytest.raises(ProcedureError, match="generator-set-head"):
        load_procedure(tmp_path / "nothing.yaml")


def test_file_that_is_not_text_is_refused(tmp_path: Path) -> None:
    """A file of bytes is not taken for a procedure."""
    path = tmp_path / "noise.yaml"
    path.write_bytes(b"\x00\x81\xff\xfe")
    with pytest.raises(ProcedureError, match="not a text file"):
        load_procedure(path)


@pytest.mark.parametrize(
    ("encoding", "told"), [("utf-16", "text in UTF-16"), ("cp1252", "line 2 has a letter")]
)
def test_text_in_another_encoding_is_told_how_to_save_it(tmp_path: Path, encoding: str, told: str) -> None:
    """What older editors write is told apart from what is no text, with its line, and how to save it."""
    path = tmp_path / "old.yaml"
    path.write_text("procedure: a\nabout: \u00d6l\n", encoding=encoding)
    with pytest.raises(ProcedureError, match=f"{told}.*; save it as UTF-8"):
        load_procedure(path)


def test_a_folder_is_no_procedure(tmp_path: Path) -> None:
    """What the system says of it is told."""
    with pytest.raises(ProcedureError, match="directory"):
        load_procedure(tmp_path)


@pytest.mark.parametrize("line_end", ["\r\n", "\r"])
def test_line_ends_of_other_systems_are_read(line_end: str) -> None:
    """Line ends of other systems, and a mark at the beginning, change nothing."""
    text = find_procedure("pipe-flange").read_text(encoding="utf-8")
    other = "\ufeff" + text.replace("\n", line_end)
    assert parse_procedure(other, name="x") == parse_procedure(text, name="x")


@pytest.mark.parametrize("name", examples())
def test_every_shipped_procedure_is_sound_and_marked_as_a_demonstration(name: str) -> None:
    """What travels with the program can be read, says that it is invented, and so do its routes."""
    procedure = load_procedure(find_procedure(name))
    assert procedure.demonstration
    assert "not for any real" in procedure.about
    for route in procedure.routes:
        assert route_through(procedure, route).steps


def test_unknown_route_names_those_there_are() -> None:
    """A route that is not there is refused with those that are."""
    with pytest.raises(ProcedureError, match="it has short"):
        route_through(parse_procedure(GOOD, name="good.yaml"), "long")


def test_step_that_rests_on_the_first_start_is_told() -> None:
    """What comes after close-out cannot be what a step before it waits for."""
    with pytest.raises(
        ProcedureError, match="step gap rests on screw-down, which comes with the first start"
    ):
        parse_procedure(GOOD.replace("routes:", "first_start: screw-down\nroutes:"), name="good.yaml")
