"""Writing procedures on the command line: what is wrong with one, and everything that helps to write it."""

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from assistant.cli_options import Engine, Model
from assistant.errors import AssistantError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from assistant.procedure.model import Procedure
    from assistant.procedure.review.table import Row, Weighed

Named = Annotated[
    str, typer.Argument(metavar="FILE", help="A procedure's file, or the name of a shipped one.")
]


def check(
    files: Annotated[
        list[str], typer.Argument(metavar="FILE...", help="Procedures' files, or names of shipped ones.")
    ],
    strict: Annotated[bool, typer.Option("--strict", help="Advice counts as a finding.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line, one a finding.")] = False,
    listen: Annotated[
        bool, typer.Option("--listen", help="Have every name spoken in noise, and heard by the recogniser.")
    ] = False,
    snr: Annotated[
        float, typer.Option(help="With --listen: speech above the workshop's noise, in dB.")
    ] = 10.0,
    engine: Engine = None,
    model: Model = None,
) -> None:
    """Find what is wrong with procedures, a line a finding: exit 0 clean, 1 findings, 2 unreadable."""
    from assistant.procedure.load import find_procedure, read_text  # noqa: PLC0415
    from assistant.procedure.review.table import review  # noqa: PLC0415

    more = _looking(listen, engine, model, snr)
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
        rows = review(text, str(path), more)
        counted += sum(strict or row.level != "advice" for row in rows)
        for row in rows:
            typer.echo(json.dumps(asdict(row), ensure_ascii=False) if as_json else str(row))
        _tell_of_more(rows)
    if unreadable or counted:
        raise typer.Exit(2 if unreadable else 1)


def _tell_of_more(rows: "Sequence[Row]") -> None:
    """Say beside the rows that what cannot be loaded was not looked through: clean of these is not yet clean."""
    if any(row.level == "error" for row in rows):
        sys.stderr.write(
            f"callout: {rows[0].file}: with errors, only errors are looked for. "
            "Mend them, and check again: more may come.\n"
        )


def _looking(
    listen: bool, engine: str | None, model: Path | None, snr_db: float
) -> "list[Callable[[Procedure], Iterable[Weighed]]]":
    """Give the finders that know how names sound, and with `listen` the one that hears them."""
    from assistant.hearing.sayable import name_findings  # noqa: PLC0415

    if not listen:
        return [name_findings]
    from assistant.simulate.name_listening import open_listener, proven  # noqa: PLC0415

    listener = open_listener(snr_db, engine=engine, model=model)
    return [name_findings, lambda procedure: proven(procedure, listener)]


def new(
    file: Annotated[Path, typer.Argument(help="The procedure's file to write, such as water-pump.yaml.")],
    title: Annotated[
        str | None, typer.Option(help="What the job is called; with it nothing is asked.")
    ] = None,
    about: Annotated[str, typer.Option(help="On which machine, and where it begins.")] = "Write it here.",
    caution: Annotated[
        list[str] | None, typer.Option(help="What must be safe first; may be repeated.")
    ] = None,
    group: Annotated[
        list[str] | None,
        typer.Option(help='Fasteners, as "cover screws: 4, M6, 8.8, 8 N.m"; may be repeated.'),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there.")] = False,
) -> None:
    """Ask a few questions, and write a commented procedure to start from, with a schema for editors beside it."""
    from assistant.author.schema import schema_text  # noqa: PLC0415
    from assistant.author.starting import CAUTION, SCHEMA, Start, asked, group_of, written  # noqa: PLC0415
    from assistant.work.files import replace  # noqa: PLC0415

    if file.exists() and not force:
        raise AssistantError(
            "there is such a file already", where=str(file), do="name another, or add --force"
        )
    start = (
        asked(_ask, typer.echo)
        if title is None
        else Start(
            title=title,
            about=about,
            cautions=tuple(caution or (CAUTION,)),
            groups=tuple(group_of(words) for words in group or ()),
        )
    )
    replace(file, written(start))
    replace(file.parent / SCHEMA, schema_text())
    typer.echo(f"{file}; its schema for editors is {file.parent / SCHEMA}. Next: callout check {file}")


def _ask(question: str, usual: str) -> str:
    answer: str = typer.prompt(question, default=usual, show_default=bool(usual))
    return answer


def schema(
    out: Annotated[Path | None, typer.Option(help="Write it into this file.")] = None,
) -> None:
    """Give the JSON Schema of procedures, so that editors complete and check as one types."""
    from assistant.author.schema import HEADER, schema_text  # noqa: PLC0415
    from assistant.work.files import replace  # noqa: PLC0415

    if out is None:
        typer.echo(schema_text(), nl=False)
        return
    replace(out, schema_text())
    typer.echo(f"{out}; the first line of a procedure beside it: {HEADER.format(schema=out.name)}")


def show(
    file: Named,
    out: Annotated[Path | None, typer.Option(help="The page to write; by default beside you, .html.")] = None,
) -> None:
    """Write a procedure as a page with figures, for reading before the work."""
    from assistant.author.reading import page  # noqa: PLC0415
    from assistant.procedure.load import find_procedure, load_procedure  # noqa: PLC0415
    from assistant.work.files import replace  # noqa: PLC0415

    path = find_procedure(file)
    written = out or Path(f"{path.stem}.html")
    replace(written, page(load_procedure(path)))
    typer.echo(written)


def diff(
    old: Annotated[
        str, typer.Argument(metavar="OLD", help="A procedure's file, or the name of a shipped one.")
    ],
    new: Annotated[str, typer.Argument(metavar="NEW", help="Another one.")],
    as_json: Annotated[bool, typer.Option("--json", help="One JSON list.")] = False,
) -> None:
    """Say what changed from one procedure to another, in the trade's words: exit 0 nothing, 1 something."""
    from assistant.author.changes import changes  # noqa: PLC0415
    from assistant.procedure.load import find_procedure, load_procedure  # noqa: PLC0415

    found = changes(*(load_procedure(find_procedure(named)) for named in (old, new)))
    typer.echo(json.dumps(found, ensure_ascii=False) if as_json else "\n".join(found or ["Nothing changed."]))
    if found:
        raise typer.Exit(1)


def table(
    file: Named,
    out: Annotated[Path | None, typer.Option(help="The CSV file to write; by default it is shown.")] = None,
) -> None:
    """Give a procedure's groups as a torque table (CSV), as callout import reads it."""
    from assistant.author.torque_table import table_of  # noqa: PLC0415
    from assistant.procedure.load import find_procedure, load_procedure  # noqa: PLC0415
    from assistant.work.files import replace  # noqa: PLC0415

    written = table_of(load_procedure(find_procedure(file)).groups)
    if out is None:
        typer.echo(written, nl=False)
    else:
        replace(out, written)
        typer.echo(out)


def guide() -> None:
    """Show how a procedure is written in twenty minutes."""
    from assistant.author.guide import guide_text  # noqa: PLC0415

    typer.echo(guide_text(), nl=False)
