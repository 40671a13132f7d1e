"""A record as one HTML page that needs nothing from outside but its notes' sound beside it."""

import base64
from collections.abc import Mapping
from datetime import datetime
from functools import cache
from itertools import groupby
from pathlib import PurePosixPath
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from assistant.procedure.route import Route
from assistant.record.model import Note, Record
from assistant.record.words import VERDICTS, duration, limits
from assistant.torque.draw import draw

SOUND: Final = "sound"
"""The folder of the notes' sound, beside the page."""


def render(route: Route, record: Record) -> str:
    """Write a record of a job on this route as HTML. Pure: the same record gives the same text."""
    days = {moment.at.date() for moment in record.time_line}
    return (
        _environment()
        .get_template("record.html")
        .render(
            record=record,
            important=[item for item in record.open_items if item.kind != "step"],
            undone_steps=[item for item in record.open_items if item.kind == "step"],
            figures=_figures(route, record),
            days=[(day, list(rows)) for day, rows in groupby(record.time_line, lambda row: _day(row.at))],
            many_days=len(days) > 1,
            verdicts=VERDICTS,
            limits=limits,
        )
    )


def sound_path(note: Note) -> str:
    """Give the place of a note's sound beside the page; whatever the journal says, it is in that folder."""
    return f"{SOUND}/{PurePosixPath(note.file).name}"


def _figures(route: Route, record: Record) -> Mapping[str, str]:
    """Draw each group, as an address that holds the drawing itself.

    Drawn into the page they would share their styles and marks with it and with each other.
    """
    return {group.name: _address(route, record, group.name) for group in record.groups}


def _address(route: Route, record: Record, name: str) -> str:
    positions = next(group.positions for group in record.groups if group.name == name)
    drawn = draw(route.procedure.groups[name], {row.position: row.state for row in positions})
    return f"data:image/svg+xml;base64,{base64.b64encode(drawn.encode()).decode()}"


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("assistant.record"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters.update(day=_day, clock=_clock, duration=duration, sound=sound_path)
    return environment


def _day(at: datetime) -> str:
    # Numbers only, because names of days and months would follow the machine's language.
    return f"{at:%Y-%m-%d}"


def _clock(at: datetime) -> str:
    return f"{at:%H:%M:%S}"
