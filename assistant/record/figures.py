"""The picture of where the time of a job went.

SVG text in black, white and grey; every meaning has a shape, a hatching or a word of its own, so that a
print loses nothing. The same record gives the same text.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from html import escape
from typing import Final

from assistant.record.model import Record, Span, Wait

_WIDTH: Final = 960.0
_LEFT: Final = 96.0
_RIGHT: Final = 24.0
_DAY: Final = 104.0
_NUMBER_FITS: Final = 9.0
"""How wide a stretch must be for each figure of its step's number."""
_OUTLINED: Final = 3.0
_NUMBER_WIDE: Final = 24.0
"""Notes that stand closer than this share their numbers, which would lie upon each other."""
_QUARTER: Final = 900.0
_TICKS: Final = (5, 10, 15, 30, 60, 120, 180, 240)
_MOST_TICKS: Final = 12

_STYLE: Final = (
    "text{font-family:sans-serif;font-size:12px;fill:#000}.m{text-anchor:middle}.b{font-weight:bold}"
    ".l{stroke:#000;stroke-width:1.2;fill:none}.f{stroke:#999;stroke-width:.8}.w{fill:#fff}.g{fill:#d4d4d4}"
    ".p{fill:url(#hatch)}.d{stroke-dasharray:3 3}.k{fill:#000}"
)
_HATCH: Final = (
    '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<rect width="6" height="6" fill="#fff"/><path d="M0 6L6 0" stroke="#000" stroke-width="1"/></pattern></defs>'
)


@dataclass(frozen=True)
class _Scale:
    """Seconds of a day against places on the sheet."""

    first: float
    last: float

    def x(self, seconds: float) -> float:
        share = (min(max(seconds, self.first), self.last) - self.first) / (self.last - self.first)
        return _LEFT + share * (_WIDTH - _LEFT - _RIGHT)


def time_figure(record: Record) -> str:
    """Draw a row for each day of work: the steps, pauses and absences, the waits, notes and departures."""
    days = sorted(
        {span.began.date() for span in record.spans if span.what == "step"} or {record.head.began.date()}
    )
    midnights = [datetime.combine(day, time(), record.head.began.tzinfo) for day in days]
    worked = [_worked(record, midnight) for midnight in midnights]
    length = max(ended - began for began, ended in worked)
    height = 28 + _DAY * len(days) + 34
    title = "Where the time went: steps by their numbers, pauses, waits, notes and departures"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:.0f} {height:.0f}" role="img">',
        f'<title>{title}</title><style>{_STYLE}</style>{_HATCH}<rect width="100%" height="100%" fill="#fff"/>',
    ]
    for row, (midnight, (began, _)) in enumerate(zip(midnights, worked, strict=True)):
        # All days have the same length on paper, so that an hour is as long in each.
        parts += _day(record, midnight, _Scale(began, began + length), 20 + _DAY * row)
    parts += [*_legend(20 + _DAY * len(days) + 22), "</svg>"]
    return "\n".join(parts) + "\n"


def own_width(svg: str) -> int:
    """Give how wide a drawing is in its own units; 0 where it does not say."""
    found = re.search(r'viewBox="0 0 (\d+) ', svg)
    return int(found[1]) if found else 0


def _worked(record: Record, midnight: datetime) -> tuple[float, float]:
    """Give when a day's work began and ended, in seconds from midnight, to the quarter hour outwards."""
    found = [_within(span.began, span.ended, midnight) for span in record.spans if span.what == "step"]
    found += [_within(wait.began, wait.ended or wait.began, midnight) for wait in record.waits]
    on_day = [(began, ended) for began, ended in found if ended > began]
    began = min((began for began, _ in on_day), default=0.0) // _QUARTER * _QUARTER
    ended = -(-max((ended for _, ended in on_day), default=0.0) // _QUARTER) * _QUARTER
    return began, max(ended, began + _QUARTER)


def _within(began: datetime, ended: datetime, midnight: datetime) -> tuple[float, float]:
    """Cut a stretch to one day, in seconds from its midnight."""
    day = timedelta(days=1).total_seconds()
    first, last = ((at - midnight).total_seconds() for at in (began, ended))
    return min(max(first, 0.0), day), min(max(last, 0.0), day)


def _day(record: Record, midnight: datetime, scale: _Scale, top: float) -> Iterator[str]:
    lane = top + 34
    yield f'<text class="b" x="4" y="{lane + 17:.1f}">{midnight:%Y-%m-%d}</text>'
    yield from _hours(scale, top, lane + 58)
    for number, span in enumerate(record.spans):
        yield from _stretch(span, midnight, scale, lane, shaded=number % 2 == 1)
    for wait in record.waits:
        yield from _wait(wait, record.head.ended, midnight, scale, lane + 32)
    yield from _marks(record, midnight, scale, lane - 4)


def _hours(scale: _Scale, top: float, bottom: float) -> Iterator[str]:
    """Draw the hours as lines, as many as have room."""
    span_min = (scale.last - scale.first) / 60
    every = next((tick for tick in _TICKS if span_min / tick <= _MOST_TICKS), _TICKS[-1]) * 60
    at = -(-scale.first // every) * every
    while at <= scale.last:
        x = scale.x(at)
        hour, minute = divmod(int(at) // 60, 60)
        yield f'<path class="f" d="M{x:.1f} {top + 12:.1f}V{bottom:.1f}"/>'
        yield f'<text class="m" x="{x:.1f}" y="{top + 8:.1f}">{hour}:{minute:02}</text>'
        at += every


def _stretch(span: Span, midnight: datetime, scale: _Scale, top: float, *, shaded: bool) -> Iterator[str]:
    began, ended = _within(span.began, span.ended, midnight)
    if ended <= began:
        return
    left, right = scale.x(began), scale.x(ended)
    if right <= left:
        return
    fill = {"paused": "p", "away": "w d"}.get(span.what, "g" if shaded else "w")
    outline = "l" if right - left >= _OUTLINED or span.what != "step" else ""
    box = f'x="{left:.1f}" y="{top:.1f}" width="{max(right - left, 0.6):.1f}" height="24"'
    yield f'<rect class="{outline} {fill}" {box}/>'
    words = str(span.number) if span.what == "step" else ""
    if words and right - left >= _NUMBER_FITS * len(words):
        yield f'<text class="m" x="{(left + right) / 2:.1f}" y="{top + 17:.1f}">{words}</text>'


def _wait(wait: Wait, now: datetime, midnight: datetime, scale: _Scale, top: float) -> Iterator[str]:
    """Draw a wait as a bar; what was cut off it is dashed, behind a cross."""
    planned = wait.began + timedelta(seconds=wait.seconds)
    began, ended = _within(wait.began, wait.ended or min(planned, now), midnight)
    _, whole = _within(wait.began, planned, midnight)
    if max(ended, whole) <= began:
        return
    left, right, end = scale.x(began), scale.x(ended), scale.x(whole)
    yield f'<rect class="l w" x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" height="14"/>'
    if right - left > _NUMBER_FITS * 8:
        yield f'<text x="{left + 4:.1f}" y="{top + 11:.1f}">wait, step {wait.number}</text>'
    if wait.how == "cut short":
        yield f'<rect class="l w d" x="{right:.1f}" y="{top:.1f}" width="{max(0.0, end - right):.1f}" height="14"/>'
        yield f'<path class="l" stroke-width="2" d="M{right - 6:.1f} {top + 1:.1f}l12 12m0 -12l-12 12"/>'


def _marks(record: Record, midnight: datetime, scale: _Scale, y: float) -> Iterator[str]:
    """Mark notes by a triangle with their number, departures by a diamond."""
    today = [note for note in record.notes if note.at.date() == midnight.date()]
    places = [(note.note, scale.x((note.at - midnight).total_seconds())) for note in today]
    for _, x in places:
        yield f'<path class="k" d="M{x:.1f} {y:.1f}l-5 -9h10z"/>'
    for first, last, x in _close_together(places):
        words = f"{first}" if first == last else f"{first}-{last}"
        yield f'<text x="{x + 6:.1f}" y="{y - 1:.1f}">{words}</text>'
    for departure in record.departures:
        if departure.at.date() == midnight.date():
            x = scale.x((departure.at - midnight).total_seconds())
            yield f'<path class="l w" d="M{x:.1f} {y:.1f}l-5 -6 5 -6 5 6z"/>'


def _close_together(places: Sequence[tuple[int, float]]) -> Iterator[tuple[int, int, float]]:
    """Give runs of notes that stand too close for a number each: the first, the last, and where that stands."""
    run: list[tuple[int, float]] = []
    for number, x in places:
        if run and x - run[-1][1] > _NUMBER_WIDE:
            yield run[0][0], *run[-1]
            run = []
        run.append((number, x))
    if run:
        yield run[0][0], *run[-1]


def _legend(y: float) -> Iterator[str]:
    halves = (
        f'<rect class="l {fill}" x="{x}" y="-11" width="12" height="14"/>'
        for x, fill in ((0, "w"), (12, "g"))
    )
    step = "".join(halves)
    samples = (
        (step, "a step, by its number"),
        ('<rect class="l p" x="0" y="-11" width="24" height="14"/>', "paused"),
        ('<rect class="l w d" x="0" y="-11" width="24" height="14"/>', "nothing said"),
        ('<path class="l" d="M6 -10l12 12m0 -12l-12 12"/>', "wait cut short"),
        ('<path class="k" d="M12 1l-5 -9h10z"/>', "note"),
        ('<path class="l w" d="M12 2l-5 -6 5 -6 5 6z"/>', "departure"),
    )  # fmt: skip
    x = _LEFT
    for drawn, words in samples:
        yield f'<g transform="translate({x:.0f} {y:.0f})">{drawn}<text x="30" y="0">{escape(words)}</text></g>'
        x += 52 + 6.6 * len(words)
