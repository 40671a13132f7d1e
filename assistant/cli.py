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

from assistant.cli_author import check, diff, guide, new, schema, show, table
from assistant.cli_evaluate import evaluate
from assistant.cli_journal import export, import_, learn, verify
from assistant.cli_notes import notes
from assistant.cli_options import Engine, JobsDir, Model, OpenJob, jobs_folder
from assistant.cli_rehearse import rehearse
from assistant.cli_reverse import reverse
from assistant.cli_shown import show_rows
from assistant.cli_torque import torque_app
from assistant.errors import AssistantError
from assistant.work.camera import ENVIRONMENT

app = typer.Typer(
    help=__doc__.splitlines()[0] if __doc__ else "",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    add_completion=False,
)

app.add_typer(torque_app, name="torque")
app.command()(evaluate)
app.command()(check)
app.command()(new)
app.command()(schema)
app.command()(show)
app.command()(diff)
app.command()(table)
app.command()(guide)
app.command()(reverse)
app.command()(notes)
app.command()(verify)
app.command()(export)
app.command("import")(import_)
app.command()(learn)
app.command()(rehearse)

_OUT: Final = Console()
_MODES: Final = (
    "The active grammar: check, close, measure, note, paused, person, place, played, question, reason, "
    "remedy, speaking, start, step, tighten, told, value, wait; "
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
    job: OpenJob = None,
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
    call_name: Annotated[
        str | None, typer.Option(help="A name of your choosing that may be said before a command.")
    ] = None,
    require_name: Annotated[
        bool, typer.Option("--require-name", help="Hear nothing without the name.")
    ] = False,
    mechanic: Annotated[
        str | None,
        typer.Option(help="Whose voice it is, of those made with callout voice; by default the only one."),
    ] = None,
    push_to_talk: Annotated[
        bool,
        typer.Option(
            "--push-to-talk",
            help="Hear only what is said while a key to talk (usually the space bar) is on.",
        ),
    ] = False,
    keep_sound: Annotated[
        bool, typer.Option("--keep-sound", help="Keep the sound that was refused in the job's folder.")
    ] = False,
    by: Annotated[str, typer.Option(help="Who works; the record names them.")] = "",
    machine: Annotated[str, typer.Option(help="Which machine a new job is on, for its record.")] = "",
    camera: Annotated[
        str, typer.Option(envvar=ENVIRONMENT, help="A command that takes a picture into {file}.")
    ] = "",
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
        call_name=call_name,
        require_name=require_name,
        push_to_talk=push_to_talk,
        keep_sound=keep_sound,
        mechanic=mechanic,
        shop=shop,
        who=by,
        machine=machine,
        camera=camera,
    )
    work_job(procedure, jobs_folder(jobs_dir), doors, new=new, route=route, job=job)


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
def voice(
    name: Annotated[str, typer.Argument(help="The mechanic's name.")],
    hear: Annotated[
        Path | None,
        typer.Option(help="A recording of it, or a folder of recordings; by default the microphone."),
    ] = None,
    engine: Engine = None,
    model: Model = None,
) -> None:
    """Make a mechanic's voice known: two minutes of commands, read aloud."""
    from assistant.work.reading import read_commands  # noqa: PLC0415

    known, path = read_commands(name, hear, engine=engine, model=model, show=typer.echo)
    typer.echo(f"{known.readings} commands were heard right; kept in {path}")


@app.command()
def ready() -> None:
    """Say which engines, models, voices and devices are here, and what brings each missing one."""
    from assistant.work.readiness import report  # noqa: PLC0415

    rows, usable = report()
    used = {True: "; in use", False: ""}
    shown = [(f"{row.kind} {row.name}", f"{row.here}{used[row.used]}") for row in rows]
    show_rows(_OUT, ("what", "here"), shown)
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

    rows = []
    for each in summaries(jobs_folder(jobs_dir)):
        began, last = (f"{at.astimezone():%Y-%m-%d %H:%M}" for at in (each.began, each.last))
        state = "closed" if each.closed else "open"
        rows.append((each.name, each.procedure, each.route, began, last, str(each.steps_done), state))
    if rows:
        show_rows(_OUT, ("job", "procedure", "route", "begun", "last worked on", "steps done", "state"), rows)
    else:
        _OUT.print("There are no jobs yet.")


@app.command()
def record(
    job: Annotated[str, typer.Argument(help="The job's name, as callout jobs lists it.")],
    out: Annotated[Path, typer.Option(help="The folder to write into.")],
    one_file: Annotated[
        bool,
        typer.Option("--one-file", help="Put sound and pictures into the page too, to pass it on by itself."),
    ] = False,
    jobs_dir: JobsDir = None,
) -> None:
    """Write the record of a job: HTML, PDF, JSON and CSV, with the sound of its notes."""
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.record.write import write_record  # noqa: PLC0415
    from assistant.work.job_notes import keep_cut_off  # noqa: PLC0415

    keep_cut_off(jobs_folder(jobs_dir), job)
    with JobFolder.open(jobs_folder(jobs_dir), job, hold=False) as folder:
        for path in write_record(folder, out, one_file=one_file):
            typer.echo(path)


@app.command()
def bench(engine: Engine = None, model: Model = None) -> None:
    """Measure this machine: response, decoding, memory, journal, resuming. Nothing is judged."""
    from assistant.evaluate.bench import measure  # noqa: PLC0415

    table = _table("what", "value")
    for name, value in measure(engine=engine, model=model):
        table.add_row(name, value)
    _OUT.print(table)
