"""`callout evaluate`: recordings of a corpus through the whole path, for each engine, at each ratio."""

import importlib.util
import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final

from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
)

from assistant.errors import HearingError
from assistant.evaluate import tables
from assistant.evaluate.corpus import read_corpus
from assistant.evaluate.tally import details, summary
from assistant.evaluate.wanted import Case, GrammarSpec, cases, grammar_spec, ratios
from assistant.evaluate.workers import Results, Setup, hear_all, refuse_unusable
from assistant.hearing.engines import available
from assistant.work.voices import known_voice

FIGURES_REMEDY: Final = "pip install 'callout[evaluate]'"


@dataclass(frozen=True, kw_only=True)
class Measured:
    """What was found: every engine's results, their details, and the row of each that stands beside the others'."""

    heard: tuple[Results, ...]
    details: tuple[dict[str, Any], ...]
    summary: tuple[dict[str, Any], ...]


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What was asked for. `engines` names them with commas between; by default all that can be used here."""

    corpus: Path
    grammar: str
    snr: str
    noise: Path | None
    engines: str | None
    model: Path | None
    limit: int | None
    seed: int
    out: Path | None
    jobs: int | None
    mechanic: str | None = None
    before_s: float = 0.0


def measure(wanted: Wanted) -> Measured:
    """Measure. Raises AssistantError, before anything is played, for what is missing or cannot be used."""
    names = _engine_names(wanted)
    corpus = read_corpus(wanted.corpus)
    noises = (read_corpus(wanted.noise) if wanted.noise else corpus).part("noise")
    grammar = grammar_spec(wanted.grammar, corpus)
    to_play = cases(
        corpus,
        noises,
        ratios(wanted.snr),
        grammar.open(),
        seed=wanted.seed,
        limit=wanted.limit,
        before_s=wanted.before_s,
    )
    _prepare(wanted.out)
    heard = tuple(_heard(names, grammar, to_play, wanted))
    return Measured(
        heard=heard,
        details=tuple(row for each in heard for row in details(each)),
        summary=tuple(summary(each) for each in heard),
    )


def as_text(measured: Measured) -> str:
    """Write the tables of a measurement."""
    rows = measured.details
    parts = [tables.side_by_side_cells(measured.summary)]
    parts += [tables.range_cells(rows, by) for by in ("snr", "what is said, snr")]
    parts += [tables.false_cells(rows, f"{part} taken") for part in ("talk", "outside")]
    return "\n\n".join(tables.written(part) for part in parts if part[1])


def as_json(measured: Measured) -> Iterator[str]:
    """Write a measurement as lines of JSON: the details, and last the one summary object."""
    yield from (json.dumps(row, ensure_ascii=False) for row in measured.details)
    yield json.dumps({"summary": measured.summary}, ensure_ascii=False)


def _engine_names(wanted: Wanted) -> list[str]:
    given = [name.strip() for name in (wanted.engines or "").split(",") if name.strip()]
    names = list(dict.fromkeys(given)) or [entry.name for entry in available()]
    if wanted.model and len(names) != 1:
        raise HearingError("a model goes with one engine", where="--model", do="name it with --engine")
    refuse_unusable(names, wanted.model)
    return names


def _prepare(out: Path | None) -> None:
    """Make the folder, and see that what it is to hold can be made, before the long part."""
    if out is None:
        return
    if importlib.util.find_spec("matplotlib") is None:
        raise HearingError("figures need matplotlib", where="--out", do=FIGURES_REMEDY)
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise HearingError(f"the folder cannot be made: {error.strerror}", where=str(out)) from error


def _heard(
    names: Sequence[str], grammar: GrammarSpec, to_play: list[Case], wanted: Wanted
) -> Iterator[Results]:
    voice = known_voice(wanted.mechanic) if wanted.mechanic else None
    with _progress() as progress:
        tasks = {name: progress.add_task(name, total=len(to_play)) for name in names}
        for name, task in tasks.items():
            setup = Setup(engine=name, model=wanted.model, grammar=grammar, voice=voice)
            yield hear_all(
                setup,
                to_play,
                wanted.out,
                partial(progress.advance, task),
                jobs=wanted.jobs,
            )


@contextmanager
def _progress() -> Iterator[Progress]:
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=Console(file=sys.stderr)) as progress:
        yield progress
