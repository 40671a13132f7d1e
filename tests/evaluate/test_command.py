import importlib.util
import json
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from assistant.cli import app
from assistant.errors import HearingError
from assistant.evaluate import workers
from assistant.hearing.engines import engines
from assistant.work import voices
from assistant.work.voices import KnownVoice

ENGINE = "pocketsphinx"


def run(*arguments: str | Path) -> list[dict[str, Any]]:
    """Run the command with --json; give the lines."""
    result = CliRunner().invoke(
        app,
        ["evaluate", *map(str, arguments), "--engine", ENGINE, "--jobs", "1", "--json"],
        catch_exceptions=False,
    )
    assert result.exit_code == 0
    return [json.loads(line) for line in result.stdout.splitlines()]


@pytest.fixture(scope="module")
def measured(
    spoken_corpus: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[list[dict[str, Any]], Path]:
    """Measure the small corpus once, into a folder."""
    out = tmp_path_factory.mktemp("out") / "new"
    return run(spoken_corpus, "--snr", "clean,10", "--out", out), out


def test_the_last_line_is_the_summary(measured: tuple[list[dict[str, Any]], Path]) -> None:
    """One object with a row an engine, shares in per cent, for every ratio asked for."""
    lines, _ = measured
    [row] = lines[-1]["summary"]
    assert list(lines[-1]) == ["summary"]
    assert (row["engine"], row["n"]) == (ENGINE, 5)
    for snr in ("clean", "10"):
        shares = [row[name][snr] for name in ("right", "wrong", "again", "ignored")]
        assert sum(shares) == pytest.approx(100, abs=0.1)
    assert row["rss_mb"] > 20
    assert set(row["latency_ms"]) == {"p50", "p95"}
    assert all(0 <= row[name] <= 100 for name in ("false_talk", "false_noise"))
    assert row["rtf"] > 0


def test_the_folder_holds_figures_a_page_and_every_result(
    measured: tuple[list[dict[str, Any]], Path],
) -> None:
    """The page needs nothing beside it."""
    _, out = measured
    page = (out / "evaluation.html").read_text(encoding="utf-8")
    assert page.count("data:image/png;base64,") == len(list(out.glob("*.png"))) == 3
    assert "http" not in page
    results = [json.loads(line) for line in (out / "results.jsonl").read_text(encoding="utf-8").splitlines()]
    assert len(results) == (5 + 1) * 2 + 1
    assert any(utterance["evidence"] for each in results for utterance in each["heard"])


def test_a_run_broken_off_goes_on_where_it_was(
    measured: tuple[list[dict[str, Any]], Path], spoken_corpus: Path
) -> None:
    """What is there is not played again, a line broken in the middle is; the numbers are the same."""
    lines, out = measured
    results = out / "results.jsonl"
    kept = results.read_text(encoding="utf-8").splitlines()
    results.write_text("\n".join([*kept[:-2], kept[-2][:40]]), encoding="utf-8")
    again = run(spoken_corpus, "--snr", "clean,10", "--out", out)
    assert again[-1]["summary"][0]["right"] == lines[-1]["summary"][0]["right"]
    assert len(results.read_text(encoding="utf-8").splitlines()) == len(kept) + 1


def wait_for(what: Callable[[], bool]) -> None:
    """Wait until something is so; fail where it never is."""
    for _ in range(1200):
        if what():
            return
        time.sleep(0.05)
    pytest.fail("it never came")


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="children are found as Linux tells them")
def test_a_run_that_was_killed_leaves_no_process_and_goes_on(spoken_corpus: Path, tmp_path: Path) -> None:
    """Its workers end with it; what they had done stays, and the next run adds the rest."""
    wanted = [str(spoken_corpus), "--snr", "clean,10", "--out", str(tmp_path)]
    begun = subprocess.Popen(
        [
            *(sys.executable, "-c", "from assistant.cli import main; main()", "evaluate", *wanted),
            *("--engine", ENGINE, "--jobs", "1"),
        ],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    results = tmp_path / "results.jsonl"
    wait_for(lambda: results.is_file() and b"\n" in results.read_bytes())
    children = Path(f"/proc/{begun.pid}/task/{begun.pid}/children").read_text(encoding="utf-8").split()
    begun.kill()
    begun.wait()
    assert children
    wait_for(lambda: not any(map(still_runs, children)))
    kept = results.read_text(encoding="utf-8").splitlines()
    run(*wanted)
    lines = results.read_text(encoding="utf-8").splitlines()
    assert lines[0] == kept[0]
    assert len({json.loads(line)["key"] for line in lines if line.endswith("}")}) == (5 + 1) * 2 + 1


def still_runs(child: str) -> bool:
    """Tell whether a process still runs: one that ended and was not waited for has no command line."""
    try:
        return bool(Path(f"/proc/{child}/cmdline").read_bytes())
    except OSError:
        return False


def test_it_is_measured_as_for_a_known_voice(
    spoken_corpus: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was heard without it is played again with it, and a voice that nobody made is refused."""
    monkeypatch.setattr(voices, "user_data", lambda: tmp_path)
    voice = KnownVoice(name="Anna", ease={ENGINE: 50.0}, readings=10, made=date(2026, 3, 2))
    voices.keep(voice)
    wanted = [str(spoken_corpus), "--snr", "clean", "--out", str(tmp_path / "out")]
    run(*wanted)
    run(*wanted, "--mechanic", "Anna")
    lines = (tmp_path / "out" / "results.jsonl").read_text(encoding="utf-8").splitlines()
    sure = [json.loads(line)["heard"][0]["confidence"] for line in lines if json.loads(line)["heard"]]
    half = len(sure) // 2
    assert max(sure[:half]) < min(sure[half:])
    with pytest.raises(HearingError, match="no voice called 'Ben'"):
        run(*wanted, "--mechanic", "Ben")


def test_an_engine_that_cannot_be_used_is_refused_with_what_brings_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Before anything is read or played."""
    entry = engines()[0]
    monkeypatch.setattr(type(entry), "missing", lambda _self: "its weights are not here")
    with pytest.raises(HearingError) as caught:
        workers.refuse_unusable([entry.name], None)
    assert entry.remedy in str(caught.value)
    with pytest.raises(HearingError, match="there is no engine called 'ear'"):
        workers.refuse_unusable(["ear"], None)


def test_figures_are_refused_early_without_their_library(
    monkeypatch: pytest.MonkeyPatch, spoken_corpus: Path, tmp_path: Path
) -> None:
    """With what brings it."""
    monkeypatch.setattr(importlib.util, "find_spec", lambda _name: None)
    with pytest.raises(HearingError, match="callout\\[evaluate\\]"):
        CliRunner().invoke(
            app,
            ["evaluate", str(spoken_corpus), "--engine", ENGINE, "--out", str(tmp_path)],
            catch_exceptions=False,
        )


def test_words_that_an_engine_cannot_hear_are_told(spoken_corpus: Path, tmp_path: Path) -> None:
    """An error in a worker comes out as one line."""
    path = tmp_path / "own.jsgf"
    path.write_text("#JSGF V1.0;\ngrammar own;\npublic <own> = xyzzyplugh;\n", encoding="utf-8")
    with pytest.raises(HearingError, match="xyzzyplugh"):
        run(spoken_corpus, "--snr", "clean", "--grammar", path)
