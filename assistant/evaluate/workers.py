"""Every engine in processes of its own, so that its memory is its own; what is finished is kept.

A worker opens one engine and one grammar, once, and plays case after case. Results are appended to a file as they
come, each under a key of all that it depends on, so that a run that was broken off goes on where it was.
"""

import multiprocessing
import os
import resource
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import nullcontext
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final, TextIO

import assistant
from assistant.errors import HearingError
from assistant.evaluate.played import Played, play
from assistant.evaluate.wanted import Case, GrammarSpec, digest_of
from assistant.hearing.engines import engines
from assistant.hearing.grammar import Grammar
from assistant.hearing.opening import open_recogniser
from assistant.hearing.recogniser import Recogniser
from assistant.work.voices import KnownVoice, adapted

RESULTS: Final = "results.jsonl"

_PATH_CODE: Final = ("hearing", "dialogue/numbers.py", "sound.py", "simulate/levels.py", "simulate/noise.py")
_OWN_CODE: Final = ("placing.py", "played.py", "scoring.py")
_OURS: Final = "CALLOUT_"
_SHOWN: Final = 12


@dataclass(frozen=True, kw_only=True)
class Setup:
    """What a worker opens: an engine by name, the folder of its model (None: the usual one), and a grammar.

    `voice` is the known voice that it hears as for, if any.
    """

    engine: str
    model: Path | None
    grammar: GrammarSpec
    voice: KnownVoice | None = None


@dataclass(frozen=True, kw_only=True)
class Results:
    """All that one engine made of the cases, in their order, and the version of the code that did it."""

    engine: str
    revision: str
    code: str
    played: tuple[Played, ...]


def refuse_unusable(names: Iterable[str], model: Path | None) -> None:
    """Raise HearingError for the first engine that is unknown or cannot be used, with what brings it."""
    known = {entry.name: entry for entry in engines()}
    for name in names:
        if name not in known:
            raise HearingError(f"there is no engine called {name!r}", do=f"name one of {', '.join(known)}")
        if not model and (missing := known[name].missing()):
            raise HearingError(f"the engine {name} cannot be used: {missing}", do=known[name].remedy)


def code_version() -> str:
    """Give a short name for the code that a result depends on."""
    home = Path(assistant.__file__).parent
    files = [path for name in _PATH_CODE for path in _sources(home / name)]
    own = [Path(__file__).with_name(name) for name in _OWN_CODE]
    return digest_of(*(path.read_text(encoding="utf-8") for path in (*files, *own)))


def hear_all(
    setup: Setup,
    cases: list[Case],
    out: Path | None,
    on_done: Callable[[int], None],
    *,
    jobs: int | None = None,
) -> Results:
    """Play every case to one engine, over so many processes (by default one a core).

    `on_done` is told how many cases are done by each step. With `out`, what is finished there already is not played
    again. Raises AssistantError where the engine, the grammar or a file cannot be used.
    """
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(jobs or os.cpu_count(), context, _begin, (setup,))
    try:
        return _heard(pool, setup, cases, out, on_done)
    except BrokenProcessPool as error:
        raise HearingError(
            f"a process of the engine {setup.engine} ended by itself", do="look for room in memory"
        ) from error
    finally:
        pool.shutdown(cancel_futures=True)  # leaving it to "with" would first wait for all that is queued


def _heard(
    pool: ProcessPoolExecutor,
    setup: Setup,
    cases: list[Case],
    out: Path | None,
    on_done: Callable[[int], None],
) -> Results:
    revision, code = pool.submit(_revision).result(), code_version()
    voice = setup.voice.model_dump_json() if setup.voice else ""
    basis = (setup.engine, revision, _models(setup.model), setup.grammar.digest, code, voice)
    keyed = {_key(basis, case): case for case in cases}
    finished = {key: played for key, played in _kept(out) if key in keyed}
    on_done(len(finished))
    waiting = [pool.submit(_play, key, case) for key, case in keyed.items() if key not in finished]
    for played in _as_they_come(waiting, out):
        finished[played.key] = played
        on_done(1)
    return Results(
        engine=setup.engine, revision=revision, code=code, played=tuple(finished[key] for key in keyed)
    )


def _as_they_come(waiting: list["Future[Played]"], out: Path | None) -> Iterator[Played]:
    """Give the results as they are there; with `out`, each is in the file before it counts."""
    with _appended(out / RESULTS) if out else nullcontext() as file:
        for future in as_completed(waiting):
            played = future.result()
            if file:
                file.write(played.model_dump_json() + "\n")
                file.flush()
            yield played


def _appended(path: Path) -> TextIO:
    """Open the file to add lines; where its last line was broken off, what comes next begins a new one."""
    broken = path.is_file() and not path.read_bytes().endswith(b"\n")
    file = path.open("a", encoding="utf-8")
    file.write("\n" if broken else "")
    return file


def _kept(out: Path | None) -> Iterator[tuple[str, Played]]:
    """Give what an earlier run left; a line that was broken off, or is of another version, is played again."""
    path = out / RESULTS if out else None
    if path is None or not path.is_file():
        return
    for line in path.read_text(encoding="utf-8").splitlines():
        try:
            played = Played.model_validate_json(line)
        except ValueError:
            continue
        yield played.key, played


def _key(basis: tuple[str, ...], case: Case) -> str:
    clip, noise = case.clip, case.noise
    files = [f"{each.path} {_stamp(each.path)}" for each in (clip, noise) if each]
    return digest_of(
        *basis, clip.part, clip.file, clip.text, case.snr, str(case.seed), str(case.before_s), *files
    )


def _models(model: Path | None) -> str:
    """Write what the folders of models hold: the one given, and those that the environment names."""
    named = {name: Path(value) for name, value in sorted(os.environ.items()) if name.startswith(_OURS)}
    folders = {"": model} | named if model else named
    return " ".join(
        f"{name}={path.name} {_stamp(path)}"
        for name, folder in folders.items()
        for path in sorted(folder.glob("*"))
    )


def _stamp(path: Path) -> str:
    found = path.stat()
    return f"{found.st_size} {found.st_mtime_ns}"


def _sources(place: Path) -> list[Path]:
    return sorted(place.rglob("*.py")) if place.is_dir() else [place]


# What follows runs in the worker.

_SETUP: list[Setup] = []


def _begin(setup: Setup) -> None:
    """Take the setup; it is opened by the first task, since a pool hides what its beginning raises."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent ends its workers
    _SETUP.append(setup)
    threading.Thread(target=_end_with_parent, name="parent", daemon=True).start()


def _end_with_parent() -> None:
    """End with a parent that was killed; else a worker waits for work for ever, with all its memory."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


@cache
def _opened() -> tuple[Recogniser, Grammar]:
    [setup] = _SETUP
    recogniser = adapted(open_recogniser(setup.engine, model=setup.model), setup.voice)
    grammar = setup.grammar.open()
    if unknown := recogniser.engine.unknown(grammar.words):
        raise HearingError(
            f"{setup.engine} does not know how to hear {', '.join(unknown[:_SHOWN])}",
            where=f"grammar {grammar.name}",
            do="leave the words out, or take another engine",
        )
    return recogniser, grammar


def _revision() -> str:
    """Give the revision of the engine's model, where the engine tells one."""
    return str(getattr(_opened()[0].engine, "revision", ""))


def _play(key: str, case: Case) -> Played:
    recogniser, grammar = _opened()
    return play(case, recogniser, grammar).model_copy(update={"key": key, "rss_mb": _peak_mb()})


def _peak_mb() -> float:
    """Give the most memory that this process has had, in MB.

    Linux counts what the parent had into ru_maxrss of a new process; its own mark stands in /proc.
    """
    status = Path("/proc/self/status")
    if status.is_file():
        lines = dict(
            line.split(":", 1) for line in status.read_text(encoding="utf-8").splitlines() if ":" in line
        )
        if "VmHWM" in lines:
            return int(lines["VmHWM"].split()[0]) / 1e3
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak / 1e3
