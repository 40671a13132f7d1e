"""The command `callout notes`: lists the notes of a job; plays, exports, writes down, puts right."""

from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from assistant.cli_options import Engine, JobName, JobsDir, Model, jobs_folder
from assistant.cli_shown import show_rows
from assistant.errors import AssistantError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assistant.job.folder import JobFolder
    from assistant.job.state import Note

_SLOWEST, _FASTEST = 0.5, 1.5


def notes(
    job: JobName,
    numbers: Annotated[
        list[int] | None, typer.Argument(help="Only these notes, by their numbers; by default all.")
    ] = None,
    play: Annotated[bool, typer.Option("--play", help="Play them, each introduced.")] = False,
    speak: Annotated[str, typer.Option(help="voice, or a WAV or FLAC file to play into.")] = "voice",
    pace: Annotated[
        float, typer.Option(min=_SLOWEST, max=_FASTEST, help="How fast they are played, 1 as spoken.")
    ] = 1.0,
    export: Annotated[
        Path | None, typer.Option(help="Copy their sound into this folder, with a table.")
    ] = None,
    text: Annotated[
        bool, typer.Option("--text", help="Write down what they say, offline, where they have no text.")
    ] = False,
    correct: Annotated[str | None, typer.Option(help="Put the text of one note right: its words.")] = None,
    by: Annotated[str, typer.Option(help="Who corrects; the record names them.")] = "",
    engine: Engine = None,
    model: Model = None,
    jobs_dir: JobsDir = None,
) -> None:
    """List the spoken notes of a job; play, export, write down or correct them."""
    from assistant.work.job_notes import keep_cut_off  # noqa: PLC0415

    jobs, wanted = jobs_folder(jobs_dir), tuple(numbers or ())
    keep_cut_off(jobs, job)
    if correct is not None:
        _correct(jobs, job, wanted, correct, by)
    if text:
        _write_down(jobs, job, wanted, engine, model)
    if export is not None:
        _export(jobs, job, wanted, export)
    if play:
        _play(jobs, job, wanted, speak, pace)
    if not (play or export or text):
        _list(jobs, job, wanted)


def _correct(jobs: Path, job: str, numbers: tuple[int, ...], words: str, by: str) -> None:
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.work.job_notes import correct  # noqa: PLC0415

    if len(numbers) != 1:
        raise AssistantError("a correction is of one note", do="name its number behind the job")
    with JobFolder.open(jobs, job) as folder:
        correct(folder, numbers[0], words, who=by, now=datetime.now(UTC))


def _write_down(
    jobs: Path, job: str, numbers: tuple[int, ...], engine: str | None, model: Path | None
) -> None:
    from assistant.hearing.dictation import open_writer  # noqa: PLC0415
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.work.job_notes import write_down  # noqa: PLC0415

    with JobFolder.open(jobs, job) as folder:
        writer = open_writer(engine, model=model)
        rough = " (rough: this recogniser guesses)" if writer.rough else ""
        for number, words in write_down(folder, numbers, writer, datetime.now(UTC)):
            typer.echo(f"note {number}, {writer.name}{rough}: {words or '(no words)'}")


def _export(jobs: Path, job: str, numbers: tuple[int, ...], out: Path) -> None:
    from assistant.job.fold import replay  # noqa: PLC0415
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.record.write import read_record  # noqa: PLC0415
    from assistant.work.job_notes import chosen, export  # noqa: PLC0415

    with JobFolder.open(jobs, job, hold=False) as folder:
        notes = chosen(replay(folder.journal.entries()), numbers)
        for path in export(folder, read_record(folder)[1], notes, out):
            typer.echo(path)
        _tell_lost(folder, notes)


def _play(jobs: Path, job: str, numbers: tuple[int, ...], speak: str, pace: float) -> None:
    from assistant.dialogue.phrasing import load_phrasebook  # noqa: PLC0415
    from assistant.job.fold import replay  # noqa: PLC0415
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.record.write import read_record  # noqa: PLC0415
    from assistant.work.job_notes import chosen, play  # noqa: PLC0415
    from assistant.work.session import Doors, open_mouth  # noqa: PLC0415

    with ExitStack() as stack:
        folder = stack.enter_context(JobFolder.open(jobs, job, hold=False))
        notes = chosen(replay(folder.journal.entries()), numbers)
        mouth = stack.enter_context(open_mouth(Doors(speak=speak)))
        route, _ = read_record(folder)
        play(route, folder, notes, mouth, load_phrasebook(), now=datetime.now(UTC).astimezone(), pace=pace)
        _tell_lost(folder, notes)


def _tell_lost(folder: "JobFolder", notes: "Sequence[Note]") -> None:
    """Say on stderr whose sound is lost, and end with exit code 1 where any is."""
    from assistant.record.verify import lost_sound  # noqa: PLC0415

    if lost := tuple(lost_sound(folder, notes)):
        typer.echo("\n".join(lost), err=True)
        raise typer.Exit(1)


def _list(jobs: Path, job: str, numbers: tuple[int, ...]) -> None:
    from assistant.job.fold import replay  # noqa: PLC0415
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.record.tables import length_of, text_by  # noqa: PLC0415
    from assistant.record.write import read_record  # noqa: PLC0415
    from assistant.work.job_notes import chosen  # noqa: PLC0415

    with JobFolder.open(jobs, job, hold=False) as folder:
        record = read_record(folder)[1]
        wanted = {note.number for note in chosen(replay(folder.journal.entries()), numbers)}
    columns = ("note", f"when ({record.head.zone})", "for", "step", "about", "length", "text")
    rows = []
    for row in record.notes:
        if row.note not in wanted:
            continue
        written = f"{row.text} [{text_by(row)}]" if row.text else ""
        length = length_of(row) + ("" if row.present or row.seconds is None else ", its sound is missing")
        at = f"{row.at:%Y-%m-%d %H:%M}"
        rows.append((f"note {row.note}", at, row.matter, str(row.number), row.about, length, written))
    if rows:
        show_rows(Console(), columns, rows)
    else:
        typer.echo("There are no notes.")
