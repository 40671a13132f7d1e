import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from assistant.cli import app

SOUND = Path(__file__).parent / "procedure" / "sound.yaml"
BROKEN = SOUND.parent / "broken"


def _run(*words: str | Path, typed: str = "") -> tuple[int, str, str]:
    done = CliRunner().invoke(app, [str(word) for word in words], input=typed, catch_exceptions=True)
    return done.exit_code, done.stdout, done.stderr


@pytest.mark.parametrize(
    ("files", "code"),
    [
        ((SOUND,), 0),
        ((SOUND, BROKEN / "circle.yaml"), 1),
        ((BROKEN / "no-thread.yaml",), 0),
        ((BROKEN / "no-thread.yaml", "--strict"), 1),
        ((BROKEN / "circle.yaml", "nowhere.yaml", SOUND), 2),
    ],
)
def test_check_says_by_its_exit_code_what_it_found(files: tuple[str | Path, ...], code: int) -> None:
    """0 is clean, 1 a finding (of advice, only when strict), 2 a file that cannot be read."""
    assert _run("check", *files)[0] == code


def test_check_goes_on_after_a_file_that_cannot_be_read() -> None:
    """The unreadable file is told on the side, and the others are checked all the same."""
    code, out, err = _run("check", "nowhere.yaml", BROKEN / "circle.yaml")
    assert code == 2
    assert "nowhere.yaml: there is no such procedure" in err
    assert "a circle" in out


def test_check_gives_a_json_object_a_line() -> None:
    """A program reads file, line, step, level, what and how to mend."""
    row = json.loads(_run("check", "--json", BROKEN / "circle.yaml")[1])
    assert list(row) == ["file", "line", "step", "level", "what", "do"]
    assert (row["line"], row["step"], row["level"]) == (42, "settle", "error")
