import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner

from assistant.author.guide import guide_text
from assistant.author.kept_yaml import dump, load
from assistant.cli import app

FINDS = {"callout check slip.yaml", "callout diff slip.yaml water-pump.yaml"}
"""What has something to tell, and says so by exit code 1; everything else of the guide ends clean."""


def _blocks() -> Iterator[tuple[str, str, str]]:
    """Give each example: its kind, the file that its first line names, and its text."""
    for kind, text in re.findall(r"```(\w+)\n(.*?)```", guide_text(), re.DOTALL):
        head = re.match(r"# (?:into )?(\S+\.(?:yaml|csv))\n", text)
        yield kind, head[1] if head else "", text


def _put(path: Path, text: str) -> None:
    """Write a whole file, or put into one that is there what the example adds to it."""
    if not text.startswith("# into "):
        path.write_text(text.split("\n", 1)[1] if path.suffix == ".csv" else text, encoding="utf-8")
        return
    written, more = load(path.read_text(encoding="utf-8")), load(text)
    for key, value in more.items():
        if key == "steps":
            written["steps"].extend(value)
        else:
            written[key] = {**written.get(key, {}), **value} if isinstance(value, dict) else value
    path.write_text(dump(written), encoding="utf-8")


def test_every_example_of_the_guide_does_what_it_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An author who follows the guide line by line ends with a procedure that is clean and was rehearsed."""
    monkeypatch.chdir(tmp_path)
    said = ""
    for kind, file, text in _blocks():
        if kind == "sh":
            said = ""
            for line in text.splitlines():
                done = CliRunner().invoke(app, shlex.split(line)[1:])
                assert done.exit_code == (line in FINDS), f"{line}\n{done.output}\n{done.exception!r}"
                said += done.output
        elif kind == "text":
            assert [line for line in text.splitlines() if line not in said] == []
        else:
            _put(tmp_path / file, text)


def test_the_guide_shows_nothing_that_is_not_run() -> None:
    """Every example is of a kind that the test above knows, and every file has its name."""
    assert {kind for kind, _, _ in _blocks()} == {"sh", "yaml", "csv", "text"}
    assert all(file for kind, file, _ in _blocks() if kind in {"yaml", "csv"})
