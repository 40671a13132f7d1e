"""Options that several commands take."""

from pathlib import Path
from typing import Annotated

import typer

from assistant.paths import user_data

JobsDir = Annotated[
    Path | None, typer.Option("--jobs-dir", help="Where jobs live; by default the user's data folder.")
]
JobName = Annotated[str, typer.Argument(help="The job's name, as callout jobs lists it.")]
OpenJob = Annotated[
    str | None, typer.Option("--job", help="Take up this open job, as callout jobs lists it.")
]
Engine = Annotated[
    str | None, typer.Option("--engine", help="The recogniser; by default the best that is here.")
]
Model = Annotated[Path | None, typer.Option("--model", help="The folder of the recogniser's model.")]


def jobs_folder(jobs_dir: Path | None) -> Path:
    """Give the folder of jobs that was asked for, or the user's."""
    return jobs_dir or user_data() / "jobs"
