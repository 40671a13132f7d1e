"""The commands about a job's journal: whether it is whole, taking it elsewhere, and learning from it."""

from pathlib import Path
from typing import Annotated

import typer

from assistant.cli_options import JobName, JobsDir, jobs_folder


def verify(
    job: JobName,
    record: Annotated[
        Path | None, typer.Option(help="A record's folder: say whether it is of this journal.")
    ] = None,
    jobs_dir: JobsDir = None,
) -> None:
    """Say whether a job's journal is whole, its sound is there, and which record belongs to it."""
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.record.verify import findings  # noqa: PLC0415

    with JobFolder.open(jobs_folder(jobs_dir), job, hold=False) as folder:
        found = findings(folder, record)
    for line in found.lines:
        typer.echo(line)
    if not found.clean:
        raise typer.Exit(1)


def export(
    job: JobName,
    file: Annotated[Path, typer.Argument(help="Where the lines go, such as job.jsonl.")],
    jobs_dir: JobsDir = None,
) -> None:
    """Write a job's journal as lines of JSON, with the procedure it started from."""
    from assistant.job.exchange import lines_of  # noqa: PLC0415
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.work.files import replace  # noqa: PLC0415

    with JobFolder.open(jobs_folder(jobs_dir), job, hold=False) as folder:
        replace(file, "".join(lines_of(folder)))
    typer.echo(file)


def import_(
    file: Annotated[Path, typer.Argument(help="What callout export wrote, or a torque table as CSV.")],
    name: Annotated[str | None, typer.Option(help="Another name for the job.")] = None,
    jobs_dir: JobsDir = None,
    into: Annotated[
        Path | None, typer.Option(help="The procedure's file that a table's groups are written into.")
    ] = None,
) -> None:
    """Make a job of an exported journal, the very same to the last hash; or groups of a torque table (CSV)."""
    from assistant.job.exchange import job_of  # noqa: PLC0415
    from assistant.work.files import read_text  # noqa: PLC0415

    if file.suffix.lower() == ".csv":
        _import_table(file, into)
        return
    lines = read_text(file, "give what callout export wrote").split("\n")
    with job_of(lines, jobs_folder(jobs_dir), name=name, where=str(file)) as folder:
        typer.echo(folder.name)


def _import_table(file: Path, into: Path | None) -> None:
    """Show the groups of a torque table as YAML, or write them into a procedure, its comments and order kept."""
    from assistant.author.kept_yaml import dump, with_groups  # noqa: PLC0415
    from assistant.author.torque_table import groups_of  # noqa: PLC0415
    from assistant.work.files import change, read_text  # noqa: PLC0415

    groups = groups_of(read_text(file, "give a torque table as CSV"), str(file))
    if into is None:
        typer.echo(dump({"groups": groups}), nl=False)
        return
    change(into, "give the procedure's YAML file", lambda text: with_groups(text, groups, str(into)))
    typer.echo(f"{into}: {', '.join(groups)}. Next: give each its step, and callout check {into}")


def learn(
    job: JobName,
    procedure: Annotated[
        Path | None, typer.Option(help="The author's file; by default the job's own copy.")
    ] = None,
    patch: Annotated[Path | None, typer.Option(help="Write the drafted edits into this file.")] = None,
    jobs_dir: JobsDir = None,
) -> None:
    """Compare the plan with what happened, and draft edits of the procedure for its author."""
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.record.learn import lessons_of  # noqa: PLC0415
    from assistant.work.files import read_text, replace  # noqa: PLC0415

    with JobFolder.open(jobs_folder(jobs_dir), job, hold=False) as folder:
        text = read_text(procedure, "give the procedure's YAML file") if procedure else None
        learnt = lessons_of(folder, text, name=str(procedure.name if procedure else "procedure.yaml"))
    for line in learnt.lines:
        typer.echo(line)
    if patch is not None and learnt.patch:
        replace(patch, learnt.patch)
        typer.echo(f"The edits are in {patch}; look at each, then: patch -p0 < {patch}")
    elif learnt.patch:
        typer.echo("")
        typer.echo(learnt.patch, nl=False)
