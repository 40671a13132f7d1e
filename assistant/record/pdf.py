"""A record as a PDF that can be printed and filed. The compiler is in its wheel, with its own fonts.

It sees neither a network nor the fonts of this machine, and the date inside is the job's: the same
record gives the same bytes.
"""

import json
from collections.abc import Mapping, Sequence
from importlib import resources
from pathlib import Path
from typing import Any, Final

import typst

from assistant.errors import RecordError
from assistant.record import tables
from assistant.record.figures import own_width, time_figure
from assistant.record.gauge import gauge_figure
from assistant.record.model import Record
from assistant.record.table import Table, when
from assistant.record.words import (
    closing_words,
    group_words,
    open_heading,
    talk_words,
    under_words,
    zone_words,
)

HOLDS: Final = "This record holds what was said to be done, and when."

_IMAGES: Final = {b"\xff\xd8\xff": "jpg", b"\x89PNG\r\n\x1a\n": "png"}
"""How the kinds of picture begin that can be printed; a file's name may lie."""

_GROUP_WIDTHS: Final = (0, 3, 3)
_STAGE_WIDTH: Final = 4
"""How the width is shared in a group's table, by the rule of `_WIDTHS`: before the stages, and for each."""

_DRAWN: Final = 0.12
"""How much of the width of a page, in per cent, a unit of a drawing takes."""

_WIDTHS: Final[Mapping[str, Sequence[int]]] = {
    "departures": (3, 1, 3, 4, 2),
    "notes": (1, 3, 2, 1, 3, 2, 6, 3, 3),
    "pictures": (1, 3, 1, 4, 4),
    "measurements": (3, 1, 4, 2, 4, 3, 2, 3, 3),
    "steps": (1, 6, 2, 3, 3, 4, 2),
    "parts": (3, 2, 2, 2, 4),
    "in-and-out": (2, 2, 5),
    "came-off": (3, 1, 3, 3, 3, 3, 3),
    "wrenches": (3, 4, 2, 2, 2, 1, 5),
    "waits": (3, 1, 2, 3, 3, 4, 2),
    "time-line": (3, 3, 8, 2, 3),
}
"""How the width of a page is shared among the columns of each table; 0 is as wide as what is in it."""


def print_pdf(record: Record, drawings: Mapping[str, str], pictures: Path) -> bytes:
    """Print a record; `drawings` are the groups as SVG text by name, `pictures` is the folder of pictures.

    Raises RecordError where it cannot be printed.
    """
    try:
        return _compile(_sheet(record, drawings, _printable(record, pictures)), pictures, record)
    except typst.TypstError:
        # A picture that is broken inside must not cost the record.
        try:
            return _compile(_sheet(record, drawings, []), pictures, record)
        except typst.TypstError as error:
            raise RecordError(f"the record cannot be printed ({error})", do="use the HTML page") from error


def _compile(sheet: Mapping[str, Any], pictures: Path, record: Record) -> bytes:
    source = resources.files("assistant.record").joinpath("templates", "record.typ").read_bytes()
    compiler = typst.Compiler(
        source,
        root=str(pictures if pictures.is_dir() else pictures.parent),
        ignore_system_fonts=True,
        sys_inputs={"sheet": json.dumps(sheet, ensure_ascii=False)},
    )
    made = compiler.compile(format="pdf", timestamp=int(record.head.ended.timestamp()))
    assert isinstance(made, bytes)  # noqa: S101 - a PDF is one piece
    return made


def _printable(record: Record, pictures: Path) -> list[dict[str, str]]:
    """Give the pictures that can be printed: the file, its format, and what stands under it."""
    found = []
    for row in record.pictures:
        path = pictures / Path(row.file).name
        begins = path.read_bytes()[:8] if path.is_file() else b""
        about = f", {row.about}" if row.about else ""
        caption = f"Picture {row.picture}, step {row.number}{about}, {when(row.at)}"
        found += [
            {"file": f"/{path.name}", "format": kind, "caption": caption}
            for start, kind in _IMAGES.items()
            if begins.startswith(start)
        ]
    return found


def _sheet(
    record: Record, drawings: Mapping[str, str], pictures: Sequence[Mapping[str, str]]
) -> dict[str, Any]:
    notices = [record.demonstration_words, record.first_rule]
    return {
        "title": record.head.job,
        "people": list(record.head.people),
        "under": under_words(record),
        "notices": [notice for notice in notices if notice],
        "holds": f"{HOLDS} {zone_words(record)}",
        "footer": f"{record.head.job} · journal of {record.journal.entries} entries, {record.journal.hash[:16]}",
        "open": {
            "heading": open_heading(record),
            "closing": closing_words(record),
            "items": [
                {"what": item.what, "detail": item.detail, "small": item.kind == "step"}
                for item in sorted(record.open_items, key=lambda item: item.kind == "step")
            ],
        },
        "sections": [
            _section("Job", lines=_job_lines(record)),
            _section("Where the time went", figures=[_figure(time_figure(record), "", 100)]),
            *_tabled(tables.departures(record), tables.notes(record)),
            *(
                [_section("Pictures", pictures=pictures, table=tables.pictures(record))]
                if record.pictures
                else []
            ),
            *(
                _section(
                    group.title,
                    lines=(group_words(group),),
                    figures=[_figure(drawings[group.name], "", _share(drawings[group.name]))],
                    table=tables.positions(group),
                )
                for group in record.groups
            ),
            *_measured(record),
            *_tabled(
                tables.steps(record),
                tables.parts(record),
                tables.tools(record),
                tables.removed(record),
                tables.wrenches(record),
                tables.waits(record),
            ),
            _section("Close-out", lines=(closing_words(record), *record.head.closed_with)),
            *_tabled(tables.time_line(record)),
        ],
    }


def _job_lines(record: Record) -> tuple[str, ...]:
    head = record.head
    lines = (
        f"Machine: {head.machine or 'not named'}. People: {', '.join(head.people) or 'not named'}.",
        f"Begun {when(head.began)}, last entry {when(head.ended)}.",
        f"{head.steps_done} of {head.steps_total} steps done.",
        talk_words(record.talk),
        f"Journal: {record.journal.entries} entries, the last with the hash {record.journal.hash}.",
        head.about,
        "Cautions given at the start: " + " ".join(record.cautions),
    )
    return tuple(line for line in lines if line)


def _measured(record: Record) -> list[dict[str, Any]]:
    if not record.measurements:
        return []
    figures = [
        _figure(gauge_figure(row), f"Step {row.number}, {row.what}, {when(row.at)}", 45)
        for row in record.measurements
        if row.stands and gauge_figure(row)
    ]
    table = tables.measurements(record)
    return [_section(table.title, figures=figures, table=table)]


def _tabled(*found: Table) -> list[dict[str, Any]]:
    return [_section(table.title, table=table) for table in found if table.rows]


def _section(
    title: str,
    *,
    lines: Sequence[str] = (),
    figures: Sequence[Mapping[str, Any]] = (),
    pictures: Sequence[Mapping[str, str]] = (),
    table: Table | None = None,
) -> dict[str, Any]:
    return {
        "title": title,
        "lines": list(lines),
        "figures": list(figures),
        "pictures": list(pictures),
        "tables": [_printed(table)] if table else [],
    }


def _printed(table: Table) -> dict[str, Any]:
    stages = len(table.head) - len(_GROUP_WIDTHS) - 1
    widths = _WIDTHS.get(table.name, (*_GROUP_WIDTHS, *(_STAGE_WIDTH,) * stages, _STAGE_WIDTH))
    return {"head": table.head, "rows": table.rows, "widths": widths}


def _share(svg: str) -> float:
    """Give the width of a drawing on the page in per cent, by its own width: signs come out equally large."""
    return min(100.0, _DRAWN * own_width(svg)) or 100.0


def _figure(svg: str, caption: str, width: float) -> dict[str, Any]:
    return {"svg": svg, "caption": caption, "width": width, "alt": caption or "drawn from the table below"}
