import pytest

from assistant.author.kept_yaml import dump, load, with_groups
from assistant.author.torque_table import groups_of, table_of
from assistant.errors import ProcedureError
from assistant.procedure.load import examples, find_procedure, load_procedure, parse_procedure, read_text
from assistant.torque.group import FastenerGroup

TABLE = """\
fastener,count,thread,class,value,unit,order
head bolts,8,M10x1.25,10.9,snug,,crosswise
head bolts,,,,30,N.m,
head bolts,,,,90,deg,
cover screws,4,M6,8.8,8,N.m,1 3 2 4
"""

KEPT = """\
# My pump.
procedure: Pump   # the small one
revision: 1
about: Invented.
cautions: [Let it cool.]
groups:
    'cover screws':   # four of them
        count: 4
        stages: [snug, {torque: 5 N.m}]   # from the table

# The way.
steps:
    -   step: cover
        say: "Fit it."
        tighten: cover screws
"""


def _models(groups: dict[str, object]) -> dict[str, FastenerGroup]:
    return {
        name: FastenerGroup.model_validate({"name": name, **group})  # type: ignore[dict-item]
        for name, group in groups.items()
    }


def test_a_table_becomes_groups() -> None:
    """Each line is a stage of its fastener; what is the same for all stands in the first line."""
    groups = _models(groups_of(TABLE, "t.csv"))
    assert groups["head bolts"].count == 8
    assert groups["head bolts"].order == "crosswise"
    assert [str(stage.value) for stage in groups["head bolts"].stages] == ["None", "30 N.m", "90 deg"]
    assert groups["cover screws"].order == (1, 3, 2, 4)
    assert groups["cover screws"].property_class == "8.8"


def test_a_table_comes_back_as_it_was() -> None:
    """From CSV to groups and back to CSV, nothing changes."""
    assert table_of(_models(groups_of(TABLE, "t.csv"))) == TABLE


@pytest.mark.parametrize("name", examples())
def test_every_shipped_group_goes_through_a_table_and_back(name: str) -> None:
    """Also rises, shares, layouts and conditions come back the very same."""
    groups = dict(load_procedure(find_procedure(name)).groups)
    assert _models(groups_of(table_of(groups), "t.csv")) == groups


@pytest.mark.parametrize(
    "stages",
    [
        "[{rise: 1/4 turn, until: 18 N.m, rounds: [2, 3], clicks: true}]",
        "[{torque: 15 N.m}, {back_off: 1 turn}, {share: 100 %}]",
        "[hand, {torque: 12 N.m, order: [2, 1, 3]}, {check: 12 N.m}]",
    ],
)
def test_uncommon_stages_go_through_a_table_and_back(stages: str) -> None:
    """What has no column of its own is written into the value as a procedure writes it."""
    finals = "finals: {1: 34 N.m, 2: 24 N.m, 3: 24 N.m}" if "share" in stages else "left_hand: true"
    group = FastenerGroup.model_validate({"name": "nuts", **load(f"count: 3\n{finals}\nstages: {stages}")})
    assert _models(groups_of(table_of({"nuts": group}), "t.csv")) == {"nuts": group}


def test_a_spreadsheet_with_semicolons_and_decimal_commas_is_read() -> None:
    """What a spreadsheet in much of the world saves is read too, with its mark at the beginning."""
    text = "\ufeff" + TABLE.replace(",", ";").replace("8;N.m", "8,5;N.m").replace("10.9", '"10.9"')
    assert str(_models(groups_of(text, "t.csv"))["cover screws"].stages[0].value) == "8.5 N.m"


WRONG = [
    ("8,N.m", "8,", "line 5", "bare number"),
    ("30,N.m", "30,Nn", "line 3", "write N.m"),
    ("30,N.m", "30,mm", "line 3", "a length"),
    ("head bolts,,,,30", "head bolts,9,,,30", "line 3", "than in line 2"),
    ("cover screws,4", "cover screws,", "line 5", "count is missing"),
    ("M10x1.25", "M10x9", "line 2", "no pitch"),
    ("cover screws,4", "cover screws,four", "line 5", "'four' is no whole number"),
    ("crosswise", "zigzag", "line 2", "'zigzag' is not known here; write 'derived', 'crosswise'"),
    ("30,N.m", "30,5,N.m", "line 3", "more cells here than columns"),
    ("snug", "snugg", "line 2", "no stage"),
    ("1 3 2 4", "1 3 2", "line 5", "4 missing"),
    ("cover screws,4", ",4", "line 5", "fill the first column"),
    ("fastener,count", "fasteners,count", "line 1", "'fasteners' is not known"),
    (TABLE, "fastener,value\n", "t.csv", "no lines"),
]


@pytest.mark.parametrize(
    ("old", "new", "line", "what"), WRONG, ids=[new.strip()[:20] for _, new, _, _ in WRONG]
)
def test_a_mistake_in_a_table_is_told_with_its_line(old: str, new: str, line: str, what: str) -> None:
    """The line of the spreadsheet is named, and what is wrong there."""
    assert old in TABLE
    with pytest.raises(ProcedureError) as caught:
        groups_of(TABLE.replace(old, new, 1), "t.csv")
    assert line in str(caught.value)
    assert what in str(caught.value)


def test_groups_are_written_into_a_procedure_that_keeps_its_comments() -> None:
    """Every line that was there is there again, in its order, and only what is new is added or changed."""
    written = with_groups(KEPT, groups_of(TABLE, "t.csv"), "pump.yaml")
    changed = {"        count: 4", "        stages: [snug, {torque: 5 N.m}]   # from the table"}
    kept = [line for line in KEPT.splitlines() if line not in changed]
    assert [line for line in written.splitlines() if line in kept] == kept
    assert "# from the table" in written
    assert list(parse_procedure(written, name="x").groups) == ["cover screws", "head bolts"]
    assert written.index("head bolts:") < written.index("# The way.")


@pytest.mark.parametrize("name", examples())
def test_reading_and_writing_changes_nothing(name: str) -> None:
    """A shipped procedure is written back to the letter."""
    text = read_text(find_procedure(name))
    assert dump(load(text), like=text) == text


def test_a_table_is_not_written_into_what_cannot_be_read() -> None:
    """A fault of the procedure's file is told as a check tells it."""
    with pytest.raises(ProcedureError, match="line 2, column 1: this is not YAML: a tab stands here"):
        with_groups("procedure: a\n\tabout: b\n", groups_of(TABLE, "t.csv"), "pump.yaml")


def test_groups_are_put_before_the_steps_where_there_were_none() -> None:
    """A procedure without groups gets them before its steps."""
    text = KEPT[: KEPT.index("groups:")] + KEPT[KEPT.index("# The way.") :].replace(
        "\n        tighten: cover screws", ""
    )
    written = with_groups(text, groups_of(TABLE, "t.csv"), "pump.yaml")
    assert list(load(written)) == ["procedure", "revision", "about", "cautions", "groups", "steps"]
    assert "# The way." in written
