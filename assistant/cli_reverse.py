"""A recorded teardown on the command line: a draft of the way back."""

from pathlib import Path
from typing import Annotated

import typer

from assistant.cli_options import JobName, JobsDir, jobs_folder
from assistant.errors import JobError


def reverse(
    job: JobName,
    out: Annotated[Path | None, typer.Option(help="The file to write; without it, it is printed.")] = None,
    jobs_dir: JobsDir = None,
) -> None:
    """Draft the procedure of the way back from a recorded teardown, for its author to complete."""
    from assistant.job.folder import JobFolder  # noqa: PLC0415
    from assistant.work.reverse import draft  # noqa: PLC0415

    with JobFolder.open(jobs_folder(jobs_dir), job, hold=False) as folder:
        text = draft(folder)
    if out is None:
        typer.echo(text, nl=False)
    else:
        _write(out, text)
        typer.echo(out)


def _write(out: Path, text: str) -> None:
    """Write a new file; what an author has completed is never overwritten."""
    try:
        with out.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise JobError("there is such a file already", where=str(out), do="name another") from error
    except OSError as error:
        raise JobError(
            f"it cannot be written ({error.strerror})", where=str(out), do="name another path"
        ) from error
