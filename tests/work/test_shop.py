import datetime as dt
from pathlib import Path

import pytest

from assistant.errors import AssistantError, TorqueError
from assistant.work import shop
from assistant.work.shop import count_uses, load_shop, parse_shop, shop_text, uses

GOOD = """\
wrenches:
  - name: inch pound
    say: the quarter-inch drive inch-pound wrench
    drive: 1/4 in
    least: 20 lbf.in
    most: 200 lbf.in
    resolution: 1 lbf.in
    accuracy: 4 %
    calibrated: 2026-03-31
    uses: 120
  - {name: large, kind: beam, least: 20 N.m, most: 200 N.m, resolution: 5 N.m}
"""

# What is changed in the good one: the old text, the new, and the place and the advice that must be told.
MISTAKES = [
    ("wrenches:", "wenches:", "line 1, column 1", "did you mean wrenches?"),
    ("least: 20 lbf.in", "least: 20", "line 5, column 5", "write its unit"),
    ("least: 20 lbf.in", "least: 20 mm", "line 5, column 5", "write it in N.m"),
    ("most: 200 lbf.in", "most: 10 lbf.in", "line 2, column 5", "turn them round"),
    ("    resolution: 1 lbf.in\n", "", "line 2, column 5", "add the key resolution"),
    ("accuracy:", "acuracy:", "line 8, column 5", "did you mean accuracy?"),
    ("2026-03-31", "2026-31-03", "line 9, column 5", "2026-03-31"),
    ("uses: 120", "uses: many", "line 10, column 5", "whole number"),
    ("kind: beam", "kind: bent", "line 11, column 19", "'click', 'beam', 'dial' or 'electronic'"),
    ("name: large", "name: inch pound", "line 1, column 1", "name them apart"),
    ("{name", "[name", "line 11, column 5", "a comma between two"),
]

MARCH, JUNE, JULY = (dt.date(2026, month, 1) for month in (3, 6, 7))


def test_the_list_that_readme_shows_is_one() -> None:
    """Who copies the example has a list of one wrench with every key."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    shown = readme.split("```yaml\n")[1].split("```")[0]
    (wrench,) = parse_shop(shown, name="README.md").wrenches
    assert wrench.model_fields_set == set(type(wrench).model_fields) - {"uses_allowed"}


@pytest.fixture(autouse=True)
def folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give every test its own folders of the user."""
    monkeypatch.setattr(shop, "user_config", lambda: tmp_path / "config")
    monkeypatch.setattr(shop, "user_data", lambda: tmp_path / "data")
    return tmp_path


def _named(folder: Path, text: str = GOOD) -> Path:
    path = folder / "tools.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_named_file_is_read(folders: Path) -> None:
    """A shop's file is read whole, dates and quantities with it."""
    first, second = load_shop(_named(folders)).wrenches
    assert (first.spoken, first.calibrated, first.uses) == (
        "the quarter-inch drive inch-pound wrench",
        dt.date(2026, 3, 31),
        120,
    )
    assert (second.kind, str(second.most)) == ("beam", "200 N.m")


def test_file_of_the_user_is_taken_where_none_is_named(folders: Path) -> None:
    """Without a named file the one in the configuration folder counts."""
    (folders / "config").mkdir()
    (folders / "config" / "shop.yaml").write_text(GOOD, encoding="utf-8")
    assert [wrench.name for wrench in load_shop().wrenches] == ["inch pound", "large"]
    assert shop_text() == GOOD


def test_user_without_a_file_has_an_empty_shop() -> None:
    """A user who has written no list works without one."""
    assert shop_text() is None
    assert load_shop().wrenches == ()


def test_named_file_that_is_missing_is_refused(folders: Path) -> None:
    """A file that was asked for must be there."""
    with pytest.raises(AssistantError, match="there is no such file"):
        load_shop(folders / "nothing.yaml")


def test_file_that_is_not_text_is_refused(folders: Path) -> None:
    """A file of bytes is not taken for a list of tools."""
    path = folders / "noise.yaml"
    path.write_bytes(b"\x00\x81\xff\xfe")
    with pytest.raises(AssistantError, match="not a text file"):
        load_shop(path)


@pytest.mark.parametrize(
    ("old", "new", "line", "advice"), MISTAKES, ids=[new.strip()[:30] for _, new, _, _ in MISTAKES]
)
def test_mistake_is_told_with_its_line_and_what_to_write(old: str, new: str, line: str, advice: str) -> None:
    """Each typical mistake in the list names file and line, and says what to write instead."""
    assert old in GOOD
    with pytest.raises(TorqueError) as caught:
        parse_shop(GOOD.replace(old, new, 1), name="shop.yaml")
    told = str(caught.value)
    assert told.startswith(f"shop.yaml, {line}: ")
    assert advice in told
    assert "\n" not in told


def test_uses_are_counted_across_jobs(folders: Path) -> None:
    """What was counted is there the next time, added to what the file says."""
    count_uses("inch pound", 8, today=JUNE)
    count_uses("inch pound", today=JUNE)
    count_uses("large", 2, today=JULY)
    assert uses() == {"inch pound": {JUNE: 9}, "large": {JULY: 2}}
    assert [wrench.uses for wrench in load_shop(_named(folders)).wrenches] == [129, 2]


def test_uses_before_the_calibration_drop_out(folders: Path) -> None:
    """A new date of calibration leaves out what was counted before it, and keeps that very day."""
    count_uses("inch pound", 50, today=MARCH)
    count_uses("inch pound", 3, today=dt.date(2026, 3, 31))
    count_uses("inch pound", 4, today=JUNE)
    assert load_shop(_named(folders)).wrench("inch pound").uses == 127


def test_counted_uses_bring_the_calibration_to_its_end(folders: Path) -> None:
    """Counted uses make a wrench due, as those in its file do."""
    count_uses("inch pound", 4880, today=JUNE)
    told = load_shop(_named(folders)).wrench("inch pound").calibration(JUNE)
    assert "5000 uses" in told


def test_count_that_cannot_be_written_leaves_the_older_one(
    folders: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the disk refuses, the counts stay as they were and nothing is left beside them."""
    count_uses("large", 1, today=JUNE)

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as full:
        full.setattr(Path, "replace", refuse)
        with pytest.raises(AssistantError, match="the disk is full"):
            count_uses("large", 1, today=JUNE)
    assert uses() == {"large": {JUNE: 1}}
    assert [path.name for path in (folders / "data").iterdir()] == ["uses.json"]


@pytest.mark.parametrize("damaged", ["", "{", '{"large": 3}', '{"large": {"2026-06-01": -1}}'])
def test_damaged_counts_are_told(folders: Path, damaged: str) -> None:
    """Counts that make no sense are told with their file and what to do, not taken for none."""
    count_uses("large", 1, today=JUNE)
    (folders / "data" / "uses.json").write_text(damaged, encoding="utf-8")
    with pytest.raises(AssistantError, match=r"uses\.json: .*damaged; delete the file"):
        uses()
