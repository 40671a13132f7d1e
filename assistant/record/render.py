"""A record as one HTML page, with its notes' sound and its pictures beside it or inside."""

import base64
from collections.abc import Mapping
from datetime import datetime
from functools import cache
from itertools import groupby
from pathlib import PurePosixPath
from types import MappingProxyType
from typing import Final, NamedTuple
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined

from assistant.procedure.route import Route
from assistant.record import words
from assistant.record.figures import own_width, time_figure
from assistant.record.gauge import gauge_figure
from assistant.record.model import Note, Picture, Record
from assistant.record.tables import text_by
from assistant.record.words import VERDICTS, duration, limits, size_words
from assistant.torque.draw import draw

SOUND: Final = "sound"
"""The folder of the notes' sound, beside the page."""

PICTURES: Final = "pictures"
"""The folder of the pictures, beside the page."""

_NOTHING: Final[Mapping[str, bytes]] = MappingProxyType({})


class _Drawn(NamedTuple):
    """A drawing for the page: its address, and how wide it is by itself, in CSS pixels."""

    address: str
    width: int


def render(drawings: Mapping[str, str], record: Record, inside: Mapping[str, bytes] = _NOTHING) -> str:
    """Write a record as HTML. Pure: the same gives the same text.

    `drawings` are its groups as SVG text; `inside` is what the page itself holds instead of naming a file
    beside it, by its place there.
    """
    days = {moment.at.date() for moment in record.time_line}
    return (
        _environment()
        .get_template("record.html")
        .render(
            record=record,
            words=words,
            important=[item for item in record.open_items if item.kind != "step"],
            undone_steps=[item for item in record.open_items if item.kind == "step"],
            figures={name: _drawn(svg) for name, svg in drawings.items()},
            time_picture=_drawn(time_figure(record)),
            gauges=[_address(drawn) if (drawn := gauge_figure(row)) else "" for row in record.measurements],
            days=[(day, list(rows)) for day, rows in groupby(record.time_line, lambda row: _day(row.at))],
            many_days=len(days) > 1,
            verdicts=VERDICTS,
            limits=limits,
            text_by=text_by,
            source=lambda place: _held(place, inside[place]) if place in inside else quote(place),
        )
    )


def sound_path(note: Note) -> str:
    """Give the place of a note's sound beside the page; whatever the journal says, it is in that folder."""
    return f"{SOUND}/{PurePosixPath(note.file).name}"


def picture_path(picture: Picture) -> str:
    """Give the place of a picture beside the page; it is in that folder."""
    return f"{PICTURES}/{PurePosixPath(picture.file).name}"


def draw_groups(route: Route, record: Record) -> Mapping[str, str]:
    """Draw each group of a record as SVG text, by its name."""
    return {
        group.name: draw(
            route.procedure.groups[group.name], {row.position: row.state for row in group.positions}
        )
        for group in record.groups
    }


def _held(place: str, content: bytes) -> str:
    """Give an address that holds a sound or picture; which kind of picture, the browser sees for itself."""
    kind = "audio/flac" if place.startswith(SOUND) else "image/jpeg"
    return f"data:{kind};base64,{base64.b64encode(content).decode()}"


def _drawn(svg: str) -> _Drawn:
    return _Drawn(_address(svg), own_width(svg))


def _address(drawn: str) -> str:
    """Give an address that holds the drawing itself.

    Drawn into the page they would share their styles and marks with it and with each other.
    """
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
    environment.filters.update(
        day=_day, clock=_clock, duration=duration, sound=sound_path, picture=picture_path, size=size_words
    )
    return environment


def _day(at: datetime) -> str:
    # Numbers only, because names of days and months would follow the machine's language.
    return f"{at:%Y-%m-%d}"


def _clock(at: datetime) -> str:
    return f"{at:%H:%M:%S}"
