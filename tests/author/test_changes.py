from pathlib import Path

import pytest

from assistant.author.changes import changes
from assistant.procedure.load import parse_procedure

SOUND = (Path(__file__).parents[1] / "procedure" / "sound.yaml").read_text(encoding="utf-8")

CHANGES = [
    ("revision: 1", "revision: 2", "revision: from 1 to 2"),
    ("{torque: 5 N.m}", "{torque: 6 N.m}", "group cover screws, stage 2, torque: from 5 N.m to 6 N.m"),
    (
        "{torque: 5 N.m}",
        "{share: 50 %}",
        "group cover screws, stage 2: from 5 N.m to 50 % of the final torque",
    ),
    ("condition: dry", "condition: oiled", "group cover screws, condition: from dry to oiled"),
    ('class: "8.8"', 'class: "10.9"', "group cover screws, property class: from 8.8 to 10.9"),
    (
        "Wear eye protection.",
        "Wear gloves.",
        ("cautions removed: Wear eye protection.", "cautions added: Wear gloves."),
    ),
    ("least: 10 min", "least: 20 min", "step settle, wait, least: from 10 min to 20 min"),
    ("most: 0.1 mm", "most: 0.2 mm", "step gap, measure, most: from 0.1 mm to 0.2 mm"),
    ("hold: true", "hold: false", "step seen, check, hold point: from yes to no"),
    ("say: Open the port.", "say: Open it.", "step open-port, words: from Open the port. to Open it."),
    (
        "    say: Open the port.\n",
        "    say: Open the port.\n    caution: Mind the edge.\n",
        "step open-port, caution added: Mind the edge.",
    ),
    ("- step: gap", "- step: measure-gap", "step gap is now called measure-gap"),
    (
        "  - step: gap\n",
        "  - step: wipe\n    say: Wipe it.\n  - step: gap\n",
        "step wipe added after screws-final: Wipe it.",
    ),
    (
        SOUND[SOUND.index("  - step: gap") : SOUND.index("  - step: seen")],
        "",
        "step gap removed",
    ),
    ("dowel: {count: 2}", "dowel: {count: 3}", "part dowel, count: from 2 to 3"),
    ("  plug: {}\n", "  plug: {}\n  pin: {}\n", "tool pin added"),
    ("short: [fit, screws,", "short: [look, fit, screws,", "route short added: look"),
    ("who: victor", "who: grace", "step turn, helper, who: from victor to grace"),
]


@pytest.mark.parametrize(("old", "new", "lines"), CHANGES, ids=[str(lines)[:40] for _, _, lines in CHANGES])
def test_a_change_is_told_in_the_words_of_the_trade(old: str, new: str, lines: str | tuple[str, ...]) -> None:
    """One change in the text is one line that a mechanic understands without the file."""
    assert old in SOUND
    before, after = (parse_procedure(text, name="x") for text in (SOUND, SOUND.replace(old, new, 1)))
    assert changes(before, after) == ((lines,) if isinstance(lines, str) else lines)


def test_stages_that_come_and_go_are_told() -> None:
    """A stage more or less does not make the stages after it look changed."""
    longer = SOUND.replace("[snug, {torque: 5 N.m},", "[snug, {torque: 3 N.m}, {torque: 5 N.m},")
    longer = longer.replace("stages: [2, 3]", "stages: [2, 3, 4]")
    one, other = (parse_procedure(text, name="x") for text in (SOUND, longer))
    assert changes(one, other)[0] == "group cover screws, stage 2 added: 3 N.m"
    assert changes(other, one)[0] == "group cover screws, stage 2 removed: 3 N.m"


def test_a_step_that_moved_is_told_once() -> None:
    """Only the step that left its place has moved, not those that made room for it."""
    steps = {name: SOUND[SOUND.index(f"  - step: {name}\n") :].split("\n  - step:")[0] for name in ("gap",)}
    moved = SOUND.replace(steps["gap"] + "\n", "").replace(
        "  - step: look\n", steps["gap"] + "\n  - step: look\n"
    )
    one, other = (parse_procedure(text, name="x") for text in (SOUND, moved))
    assert changes(one, other) == ("step gap moved, now at the beginning",)


def test_nothing_changed_is_nothing_told() -> None:
    """Comments and the way of writing are no change."""
    other = SOUND.replace("{circle: 4}", "{ circle: 4 }  # round").replace(
        "cautions: Wear eye protection.", "cautions: [Wear eye protection.]"
    )
    assert changes(parse_procedure(SOUND, name="x"), parse_procedure(other, name="x")) == ()
