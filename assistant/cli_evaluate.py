"""Recognition measured, on the command line: tables for people, lines of JSON for programs, figures in a folder."""

from pathlib import Path
from typing import Annotated

import typer


def evaluate(
    corpus: Annotated[Path, typer.Argument(help="A folder of recordings with a manifest.jsonl.")],
    grammar: Annotated[
        str,
        typer.Option(
            metavar="MODE|FILE.jsgf|corpus",
            help="What may be said: a mode, a grammar of your own, or all that the corpus says.",
        ),
    ] = "corpus",
    snr: Annotated[
        str,
        typer.Option(
            help="Speech above noise, in dB by active speech level, and clean, with commas between."
        ),
    ] = "clean,20,10,5,0",
    noise: Annotated[
        Path | None, typer.Option(help="Another corpus to take the noise from; by default this one's own.")
    ] = None,
    engine: Annotated[
        str | None, typer.Option(metavar="NAME,...", help="The recognisers; by default all that are here.")
    ] = None,
    model: Annotated[
        Path | None, typer.Option(help="The folder of the recogniser's model, for one --engine.")
    ] = None,
    mechanic: Annotated[
        str | None, typer.Option(help="Hear as for this mechanic, of those made with callout voice.")
    ] = None,
    limit: Annotated[
        int | None, typer.Option(min=1, help="So many clips of each part, for a quick look.")
    ] = None,
    seed: Annotated[int, typer.Option(help="Sets which noise each clip gets, and where.")] = 1,
    before: Annotated[
        float,
        typer.Option(
            min=0, max=600, help="So many seconds more of its noise before each clip, as in a shop."
        ),
    ] = 0.0,
    jobs: Annotated[
        int | None,
        typer.Option(min=1, help="Processes at a time; by default one a core."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            help="A folder for figures, a page, and every result; a run broken off goes on from there."
        ),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="A JSON object a line; the last one is the summary.")
    ] = False,
) -> None:
    """Measure recognition on recordings: right, wrong, asked again, talk and noise taken, time, memory."""
    from assistant.evaluate import measuring  # noqa: PLC0415

    measured = measuring.measure(
        measuring.Wanted(
            corpus=corpus,
            grammar=grammar,
            snr=snr,
            noise=noise,
            engines=engine,
            model=model,
            limit=limit,
            seed=seed,
            out=out,
            jobs=jobs,
            mechanic=mechanic,
            before_s=before,
        )
    )
    if out is not None:
        from assistant.evaluate.report import write_report  # noqa: PLC0415

        write_report(measured, out)
    for line in measuring.as_json(measured) if as_json else (measuring.as_text(measured),):
        typer.echo(line)
