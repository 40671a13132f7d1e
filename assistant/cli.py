"""The command line: arguments in, exit code out. 0 is clean, 1 a finding, 2 what has to be mended first.

Every command imports what it needs when it runs, so that `callout jobs` does not wait for a recogniser.
"""

import json
import sys
from pathlib import Path
from typing import Annotated, Final

import typer
from rich.console import Console
from rich.table import Table

from assistant.cli_evaluate import evaluate
from assistant.cli_reverse import reverse
from assistant.cli_torque import torque_app
from assistant.errors import AssistantError
from assistant.paths import user_data

app = typer.Typer(
    help=__doc__.splitlines()[0] if __doc__ else "",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    add_completion=False,
)

app.add_typer(torque_app, name="torque")
app.command()(evaluate)
app.command()(reverse)

JobsDir = Annotated[
    Path | None, typer.Option("--jobs-dir", help="Where jobs live; by default the user's data folder.")
]
Engine = Annotated[
    str | None, typer.Option("--engine", help="The recogniser; by default the best that is here.")
]
Model = Annotated[Path | None, typer.Option("--model", help="The folder of the recogniser's model.")]

_OUT: Final = Console()
_MODES: Final = (
    "The active grammar: check, measure, note, paused, question, reason, speaking, start, step, tighten, wait; "
    "by default all together."
)


def main() -> None:
    """Run the command line; an error that a user can mend becomes one line and exit code 2."""
    try:
        app()
    except AssistantError as error:
        sys.stderr.write(f"callout: {error}\n")
        sys.exit(2)
    except KeyboardInterrupt:
        sys.exit(130)


def jobs_folder(jobs_dir: Path | None) -> Path:
    """Give the folder of jobs that was asked for, or the user's."""
    return jobs_dir or user_data() / "jobs"


def _table(*columns: str) -> Table:
    """Give an empty table that folds what is too long, so that names and commands can be copied."""
    table = Table()
    for column in columns:
        table.add_column(column, overflow="fold")
    return table


@app.command()
def work(
    procedure: Annotated[str, typer.Argument(help="A procedure's file, or the name of a shipped one.")],
    hear: Annotated[
        str, typer.Option(help="mic, text (a line an utterance), or a WAV or FLAC file.")
    ] = "mic",
    speak: Annotated[str, typer.Option(help="voice, text, none, or a WAV or FLAC file to write.")] = "voice",
    new: Annotated[str | None, typer.Option(help="Start another job, under this name.")] = None,
    route: Annotated[str, typer.Option(help="A shorter way through the procedure, by its name.")] = "",
    voice: Annotated[str | None, typer.Option(help="The voice; see callout ready.")] = None,
    engine: Engine = None,
    model: Model = None,
    jobs_dir: JobsDir = None,
    page: Annotated[
        bool, typer.Option("--page", help="Show a large page on this machine's browser.")
    ] = False,
    shop: Annotated[Path | None, typer.Option(help="The shop's tools; by default the user's list.")] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="One JSON object a line for all that happens.")
    ] = False,
) -> None:
    """Work a job by voice: start it, or take it up where it stood."""
    from assistant.work.session import Doors, work_job  # noqa: PLC0415

    doors = Doors(
        hear=hear,
        speak=speak,
        engine=engine,
        model=model,
        voice=voice,
        page=page,
        as_json=as_json,
        shop=shop,
    )
    work_job(procedure, jobs_folder(jobs_dir), doors, new=new, route=route)


@app.command()
def demo(
    live: Annotated[
        bool, typer.Option("--live", help="With your own voice, microphone and loudspeaker.")
    ] = False,
    engine: Engine = None,
    model: Model = None,
    snr: Annotated[float, typer.Option(help="Speech above the workshop's noise, in dB.")] = 20.0,
    out: Annotated[Path, typer.Option(help="Where the sound, the journal and the record go.")] = Path(
        "callout-demo"
    ),
    seed: Annotated[int, typer.Option(help="Sets voices and noise.")] = 2,
) -> None:
    """Work the demonstration job with a simulated mechanic whose sound is really recognised."""
    from assistant.simulate.demo import run_demo, run_live  # noqa: PLC0415

    if live:
        run_live(out, engine=engine, model=model)
    elif not run_demo(_OUT, out, engine=engine, model=model, snr_db=snr, seed=seed):
        raise typer.Exit(1)


@app.command()
def listen(
    files: Annotated[list[Path], typer.Argument(help="WAV or FLAC recordings.")],
    mode: Annotated[str | None, typer.Option(help=_MODES)] = None,
    procedure: Annotated[str | None, typer.Option(help="A procedure whose names may be said.")] = None,
    engine: Engine = None,
    model: Model = None,
) -> None:
    """Recognise recordings: one JSON line an utterance."""
    from assistant.work.listening import listen_to  # noqa: PLC0415

    for row in listen_to(files, mode=mode, procedure=procedure, engine=engine, model=model):
        typer.echo(json.dumps(row, ensure_ascii=False))


@app.command()
def ready() -> None:
    """Say which engines, models, voices and devices are here, and what brings each missing one."""
    from assistant.work.readiness import report  # noqa: PLC0415

    rows, usable = report()
    table = _table("", "what", "here", "used")
    for row in rows:
        table.add_row(row.kind, row.name, row.here, "used" if row.used else "")
    _OUT.print(table)
    for row in rows:
        if row.remedy:
            typer.echo(f"{row.name.partition(':')[0]}: {row.remedy}")
    _OUT.print("A job can be run." if usable else "A job cannot be run yet.")
    if not usable:
        raise typer.Exit(1)


@app.command()
def jobs(jobs_dir: JobsDir = None) -> None:
    """List the jobs: what each is about, and how far it is."""
    from assistant.job.shelf import summaries  # noqa: PLC0415

    table = _table("job", "procedure", "route", "begun", "last worked on", "steps done", "state")
    for each in summaries(jobs_folder(jobs_dir)):
        began, last = (f"{at:%Y-%m-%d %H:%M}" if at else "" for at in (each.began, each.last))
        state = "closed" if each.closed else "open"
        table.add_row(each.name, each.procedure, each.route, began, last, str(each.steps_done), state)
    _OUT.print(table if table.row_count else "There are no jobs yet.")


@app.command()
def record(
    job: Annotated[str, typer.Argument(help="The job's name, as callout jobs lists it.")],
    out: Annotated[Path, typer.Option(help="The folder to write into.")],
    jobs_dir: JobsDir = None,
) -> None:
    """Write the record of a job: HTML and JSON."""
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.record.write import write_record  # noqa: PLC0415

    with JobFolder.open(jobs_folder(jobs_dir), job, hold=False) as folder:
        for path in write_record(folder, out):
            typer.echo(path)


@app.command()
def bench(engine: Engine = None, model: Model = None) -> None:
    """Measure this machine: response, decoding, memory, journal, resuming. Nothing is judged."""
    from assistant.evaluate.bench import measure  # noqa: PLC0415

    table = _table("what", "value")
    for name, value in measure(engine=engine, model=model):
        table.add_row(name, value)
    _OUT.print(table)
