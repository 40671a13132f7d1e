"""Where the weights are, and how they are joined."""

import errno
import hashlib
import threading
from pathlib import Path
from typing import Any

import pytest

from assistant.errors import HearingError
from assistant.hearing import weights

FIRST, SECOND = b"first half, " * 1000, b"second half" * 1000


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give an empty cache folder, no environment, no hub cache, and no wheels."""
    monkeypatch.delenv(weights.ENVIRONMENT, raising=False)
    monkeypatch.setenv("HF_HUB_CACHE", str(tmp_path / "hub"))
    monkeypatch.setattr(weights, "user_cache", lambda: tmp_path / "cache")
    monkeypatch.setattr(weights, "_data_of", lambda module: tmp_path / "wheels" / module)
    return tmp_path


@pytest.fixture
def wheels(home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Put two small wheels there, whose joined checksum is the one asked for."""
    for (module, part), content in zip(weights._PARTS, (FIRST, SECOND), strict=True):
        folder = home / "wheels" / module
        folder.mkdir(parents=True)
        (folder / part).write_bytes(content)
    for name in weights._FILES:
        (home / "wheels" / weights._PARTS[0][0] / name).write_text("{}")
    monkeypatch.setattr(weights, "SHA256", hashlib.sha256(FIRST + SECOND).hexdigest())
    return home


def model_in(folder: Path) -> Path:
    """Make a folder that looks like weights."""
    folder.mkdir(parents=True)
    for name in ("model.bin", "config.json", "tokenizer.json"):
        (folder / name).write_text("{}")
    return folder


def left_over(home: Path) -> list[str]:
    """Name what is in the cache besides a finished folder."""
    cache = home / "cache"
    return [each.name for each in cache.iterdir() if each != weights._joined()] if cache.is_dir() else []


def test_the_parts_are_joined_once(wheels: Path) -> None:
    """The first use makes the folder whole; the second takes it as it is."""
    folder = weights.weights()
    assert (folder / "model.bin").read_bytes() == FIRST + SECOND
    assert {each.name for each in folder.iterdir()} == {"model.bin", *weights._FILES}
    made = (folder / "model.bin").stat().st_mtime_ns
    assert weights.weights() == folder
    assert (folder / "model.bin").stat().st_mtime_ns == made
    assert left_over(wheels) == []


def test_damaged_parts_are_refused_and_leave_nothing(wheels: Path) -> None:
    """A wrong checksum is told, and no half-made folder is taken for weights next time."""
    module, part = weights._PARTS[1]
    (wheels / "wheels" / module / part).write_bytes(b"damaged")
    for _ in range(2):
        with pytest.raises(HearingError, match="damaged"):
            weights.weights()
    assert left_over(wheels) == []


def test_a_full_disk_is_one_clear_line(wheels: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It says where there is no room and what to do, and leaves nothing behind."""

    def full(*_arguments: Any) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(weights, "_write_model", full)
    with pytest.raises(HearingError, match=r"No space left on device.*make 150 MB of room") as told:
        weights.weights()
    assert "\n" not in str(told.value)
    assert left_over(wheels) == []


def test_several_may_join_at_once(wheels: Path) -> None:
    """Everyone gets the same whole folder, and nobody's leavings stay."""
    found: list[Path] = []
    gate = threading.Barrier(6)

    def join() -> None:
        gate.wait()
        found.append(weights.weights())

    threads = [threading.Thread(target=join) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 6
    assert set(found) == {weights._joined()}
    assert (found[0] / "model.bin").read_bytes() == FIRST + SECOND
    assert left_over(wheels) == []


def test_a_folder_that_is_given_comes_first(wheels: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder given, then the one the environment names, then the wheels."""
    given, named = model_in(wheels / "given"), model_in(wheels / "named")
    monkeypatch.setenv(weights.ENVIRONMENT, str(named))
    assert weights.weights(given) == given
    assert weights.weights() == named


def test_a_folder_that_is_none_is_told(home: Path) -> None:
    """The error names the folder and what it must hold."""
    with pytest.raises(HearingError, match=r"not a folder of Whisper weights.*model\.bin"):
        weights.weights(home)


def test_a_copy_in_the_usual_hub_cache_is_taken(home: Path) -> None:
    """What another program has fetched is used where the wheels are not installed."""
    found = model_in(home / "hub" / weights._HUB_NAME / "snapshots" / "abc")
    assert weights.weights() == found
    assert weights.missing() == ""


@pytest.mark.usefixtures("home")
def test_without_any_weights_the_remedy_is_named() -> None:
    """Nothing is fetched; the command that brings them is told."""
    assert weights.missing()
    with pytest.raises(HearingError, match=r"pip install 'callout\[loud\]'"):
        weights.weights()
