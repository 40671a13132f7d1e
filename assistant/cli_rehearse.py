"""`callout rehearse`: a simulated mechanic walks a procedure, and what it found is told."""

import json
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from assistant.cli_options import Engine, Model

if TYPE_CHECKING:
    from assistant.procedure.route import Route
    from assistant.simulate.door import Door
    from assistant.simulate.rehearsal import Spoken, Walked
    from assistant.simulate.rehearsed import Told


def rehearse(
    file: Annotated[str, typer.Argument(help="A procedure's file, or the name of a shipped one.")],
    route: Annotated[
        str | None, typer.Option(help="One route by its name; by default all of them and the whole.")
    ] = None,
    text: Annotated[
        bool, typer.Option("--text", help="Without sound: every word is heard as meant.")
    ] = False,
    seed: Annotated[int, typer.Option(help="Sets voices, pace, slips, interruptions and noise.")] = 1,
    walks: Annotated[
        int | None, typer.Option(min=1, help="How many walks; by default enough to decide both ways.")
    ] = None,
    snr: Annotated[float, typer.Option(help="Speech above the workshop's noise, in dB.")] = 20.0,
    engine: Engine = None,
    model: Model = None,
    show: Annotated[bool, typer.Option("--show", help="Show what is said and answered.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line for each finding.")] = False,
) -> None:
    """Walk a procedure with a simulated mechanic: steps, time, what was misheard, left open or said too long."""
    from assistant.procedure.load import find_procedure, parse_procedure, read_text  # noqa: PLC0415
    from assistant.procedure.route import route_through  # noqa: PLC0415
    from assistant.simulate.rehearsal import walk  # noqa: PLC0415
    from assistant.simulate.rehearsed import told, walks_for  # noqa: PLC0415

    path = find_procedure(file)
    written = read_text(path)
    procedure = parse_procedure(written, name=str(path))
    ways = [
        route_through(procedure, name) for name in (("", *procedure.routes) if route is None else (route,))
    ]
    findings: list[Told] = []
    with _door(text=text, engine=engine, model=model, snr_db=snr, seed=seed) as door:
        for way in ways:
            walked = [
                walk(way, written, door, number=number, seed=seed, watch=_shown if show else _still)
                for number in range(walks or walks_for(way))
            ]
            found = told(way, walked)
            findings += found
            for line in [] if as_json else [*_summary(way, walked), *map(_row, found)]:
                typer.echo(line)
    for each in findings if as_json else ():
        typer.echo(json.dumps(asdict(each), ensure_ascii=False))
    if findings:
        raise typer.Exit(1)


def _door(
    *, text: bool, engine: str | None, model: Path | None, snr_db: float, seed: int
) -> "AbstractContextManager[Door]":
    if text:
        from assistant.simulate.door import TypedDoor  # noqa: PLC0415

        return nullcontext(TypedDoor())
    from assistant.simulate.spoken_door import open_door  # noqa: PLC0415

    return nullcontext(open_door(engine=engine, model=model, snr_db=snr_db, seed=seed))


def _summary(way: "Route", walks: "Sequence[Walked]") -> Iterator[str]:
    from assistant.simulate.rehearsed import misheard, opening  # noqa: PLC0415

    reached = frozenset[str]().union(*(walk.reached for walk in walks))
    closed = sum(walk.closed for walk in walks)
    yield (
        f"{way.name or 'the whole'}: {len(reached)} of {len(way.steps)} steps reached; "
        f"{closed} of {len(walks)} walks closed"
    )
    for walk in walks:
        hours, minutes = divmod(round(walk.seconds / 60), 60)
        yield (
            f"  walk {walk.walk}: {walk.sayings} sayings, {walk.mistakes} of them slips, "
            f"{len(walk.misheard)} not heard right; {hours} h {minutes:02d} min, simulated"
        )
    if first := opening(walks):
        yield f"  the opening takes {first.seconds:.0f} s"
    for (said, heard), times in misheard(walks).most_common():
        yield f"  {said!r} was {f'taken for {heard!r}' if heard else 'not understood'}{_times(times)}"


def _times(times: int) -> str:
    return f", {times} times" if times > 1 else ""


def _row(found: "Told") -> str:
    place = f"step {found.step}: " if found.step else ""
    return f"  {place}{found.what}: {found.do}"


def _shown(spoken: "Spoken") -> None:
    typer.echo(f"    [{spoken.step}] {spoken.to}\n        {spoken.words}")


def _still(_spoken: "Spoken") -> None:
    """Show nothing."""
