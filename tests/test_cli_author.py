import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from assistant.cli import app
from assistant.errors import AssistantError

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


def test_check_says_beside_errors_that_more_may_come() -> None:
    """What cannot be loaded was not looked through, which is told on the side; a file that loads needs no such word."""
    _, out, err = _run("check", BROKEN / "circle.yaml", BROKEN / "beyond-proof.yaml")
    assert "error" in out
    assert "finding" in out
    [told] = err.splitlines()
    assert "circle.yaml: with errors, only errors are looked for." in told


def test_check_gives_a_json_object_a_line() -> None:
    """A program reads file, line, step, level, what and how to mend."""
    row = json.loads(_run("check", "--json", BROKEN / "circle.yaml")[1])
    assert list(row) == ["file", "line", "column", "step", "level", "what", "do"]
    assert (row["line"], row["step"], row["level"]) == (42, "settle", "error")


TYPED = "Pump\nOff.\nLet it cool.\n\ncover screws\n4, M6, 8.8, 8 N.m\n\n"


def test_new_asks_and_writes_a_file_that_passes_its_check(tmp_path: Path) -> None:
    """A few answers make a file, with a schema beside it, that has no finding; it is not written over."""
    file = tmp_path / "pump.yaml"
    assert _run("new", file, typed=TYPED)[0] == 0
    assert _run("check", "--strict", file) == (0, "", "")
    assert "$defs" in json.loads((tmp_path / "procedure.schema.json").read_text(encoding="utf-8"))
    with pytest.raises(AssistantError, match="such a file already"):
        CliRunner().invoke(app, ["new", str(file)], catch_exceptions=False)


def test_a_table_goes_into_a_procedure_and_comes_out_again(tmp_path: Path) -> None:
    """What callout table writes, callout import takes, and nothing of the procedure changes by it."""
    table, file = tmp_path / "torques.csv", tmp_path / "cover.yaml"
    file.write_text(SOUND.read_text(encoding="utf-8"), encoding="utf-8")
    assert _run("table", file, "--out", table)[0] == 0
    assert _run("import", table)[1].startswith("groups:\n  cover screws:")
    assert _run("import", table, "--into", file)[0] == 0
    assert (
        file.read_text(encoding="utf-8").splitlines()[0] == SOUND.read_text(encoding="utf-8").splitlines()[0]
    )
    assert _run("diff", SOUND, file)[:2] == (0, "Nothing changed.\n")


def test_diff_says_what_changed_and_exits_1() -> None:
    """Two procedures that differ are told line by line, or as a JSON list."""
    code, out, _ = _run("diff", SOUND, BROKEN / "beyond-proof.yaml", "--json")
    assert (code, json.loads(out)) == (1, ["group cover screws, stage 3, torque: from 8 N.m to 20 N.m"])


def test_show_schema_and_guide_write_what_they_promise(tmp_path: Path) -> None:
    """A page, a schema with the header line for editors, and the guide."""
    assert _run("show", SOUND, "--out", tmp_path / "cover.html")[0] == 0
    assert "<h1>A small cover</h1>" in (tmp_path / "cover.html").read_text(encoding="utf-8")
    assert "# yaml-language-server: $schema=s.json" in _run("schema", "--out", tmp_path / "s.json")[1]
    assert _run("guide")[1].startswith("# Writing a procedure in twenty minutes")


def test_a_table_goes_into_a_file_that_keeps_its_line_ends(tmp_path: Path) -> None:
    """A procedure written on a machine that ends lines with CR and LF is given back so, every line of it."""
    file, table = tmp_path / "cover.yaml", tmp_path / "torques.csv"
    _run("new", file, "--title", "Cover")
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    table.write_text("fastener,count,value,unit\nlid screws,3,5,N.m\n")
    assert _run("import", table, "--into", file)[0] == 0
    written = file.read_bytes()
    assert b"lid screws:\r\n" in written
    assert written.count(b"\n") == written.count(b"\r\n")


def test_check_tells_names_that_sound_alike(tmp_path: Path) -> None:
    """Two groups whose names are taken for each other are a finding, with a line of the file."""
    file = tmp_path / "alike.yaml"
    names = "groups: {rocker bolts: {count: 2, stages: [snug]}, locker bolts: {count: 2, stages: [snug]}}"
    file.write_text(
        "procedure: Bench\nrevision: 1\nabout: Invented.\ncautions: Lock it.\n"
        f"{names}\nsteps:\n"
        "  - {step: a, say: Fit one., tighten: rocker bolts}\n  - {step: b, say: Fit two., tighten: locker bolts}\n"
    )
    code, out, _ = _run("check", file)
    assert code == 1
    assert "alike.yaml:5:10: finding: 'locker bolts' and 'rocker bolts' sound too alike" in out


def test_check_listens(tmp_path: Path) -> None:
    """With --listen the names are really spoken and heard; lost in noise is advice, with what was said."""
    file = tmp_path / "bench.yaml"
    file.write_text(
        "procedure: Bench\nrevision: 1\nabout: Invented.\ncautions: Lock it.\n"
        "steps:\n  - {step: a, say: Measure it., measure: {name: end float, what: the end float, unit: mm}}\n"
    )
    listening = ("check", file, "--listen", "--snr", "-20", "--engine", "pocketsphinx")
    code, out, _ = _run(*listening)
    assert code == 0
    assert "advice: 'what was the end float' at -20 dB was not understood from" in out
    assert _run(*listening, "--strict")[0] == 1
