"""Writing procedures on the command line: what is wrong with one, and everything that helps to write it."""

import json
import sys
from dataclasses import asdict
from typing import Annotated

import typer

from assistant.errors import AssistantError

Named = Annotated[
    str, typer.Argument(metavar="FILE", help="A procedure's file, or the name of a shipped one.")
]


def check(
    files: Annotated[
        list[str], typer.Argument(metavar="FILE...", help="Procedures' files, or names of shipped ones.")
    ],
    strict: Annotated[bool, typer.Option("--strict", help="Advice counts as a finding.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line, one a finding.")] = False,
) -> None:
    """Find what is wrong with procedures, a line a finding: exit 0 clean, 1 findings, 2 unreadable."""
    from assistant.procedure.load import find_procedure, read_text  # noqa: PLC0415
    from assistant.procedure.review.table import review  # noqa: PLC0415

    counted = 0
    unreadable = False
    for named in files:
        path = find_procedure(named)
        try:
            text = read_text(path)
        except AssistantError as error:
            sys.stderr.write(f"callout: {error}\n")
            unreadable = True
            continue
        # The names that must be said are looked at by rooms above the procedure's: they are handed over as `more`.
        for row in review(text, str(path)):
            counted += strict or row.level != "advice"
            typer.echo(json.dumps(asdict(row), ensure_ascii=False) if as_json else str(row))
    if unreadable or counted:
        raise typer.Exit(2 if unreadable else 1)
