"""A value drawn between its limits: brackets for the limits, grey for what lies within, a dot for the value.

Grey and shapes only, so that a print loses nothing; the same row gives the same text.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from typing import Final

from assistant.record.model import Measurement
from assistant.torque.units import Quantity

_WIDTH, _HEIGHT = 250, 62
_LEFT, _LONG = 20.0, 210.0
_AXIS, _TOP, _TALL = 32, 20, 24
_ROOM: Final = 0.25
"""How much is shown beyond the outermost thing, as a share of the whole."""
_TEXT_FROM, _TEXT_TO = 40.0, 210.0
_STYLE: Final = (
    "text{font-family:sans-serif;font-size:12px;fill:#000}.m{text-anchor:middle;font-weight:bold}"
    ".e{text-anchor:end}.l{stroke:#000;stroke-width:1.2;fill:none}.t{stroke-width:2.2}.g{fill:#d4d4d4}.r{fill:#fff}"
)


@dataclass(frozen=True)
class _Scale:
    low: float
    high: float

    def x(self, place: float) -> float:
        """Give the place of a value on the sheet."""
        return _LEFT + (place - self.low) / (self.high - self.low) * _LONG


def gauge_figure(row: Measurement) -> str:
    """Draw what was judged against its limits as SVG text; "" where there are none."""
    judged = row.leaves or row.value
    if row.least is None and row.most is None:
        return ""
    unit = judged.unit
    value, doubt = float(judged.exact(unit)), float(row.gauge.exact(unit)) if row.gauge else 0.0
    readings = [float(reading.exact(unit)) for reading in row.readings]
    least, most = (None if limit is None else float(limit.exact(unit)) for limit in (row.least, row.most))
    places = [value - doubt, value + doubt, *readings, *(at for at in (least, most) if at is not None)]
    scale = _scale(places)
    title = escape(f"{row.leaves_what or row.what}: {judged}")
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img">',
        f'<title>{title}</title><style>{_STYLE}</style><rect width="100%" height="100%" fill="#fff"/>',
        _within(scale, least, most),
        *_gate(scale, least, row.least, foot=5, anchor="e"),
        *_gate(scale, most, row.most, foot=-5, anchor=""),
        *_value(scale, value, doubt, readings),
        f'<text class="m" x="{min(max(scale.x(value), _TEXT_FROM), _TEXT_TO):.1f}" y="14">{escape(str(judged))}</text>',
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _scale(places: list[float]) -> _Scale:
    reach = (max(places) - min(places)) or abs(places[0]) or 1.0
    return _Scale(min(places) - _ROOM * reach, max(places) + _ROOM * reach)


def _within(scale: _Scale, least: float | None, most: float | None) -> str:
    """Shade what lies within the limits, and draw the line on which values lie."""
    left = scale.x(scale.low if least is None else least)
    right = scale.x(scale.high if most is None else most)
    shade = f'<rect class="g" x="{left:.1f}" y="{_TOP + 4}" width="{right - left:.1f}" height="{_TALL - 8}"/>'
    return f'{shade}<path class="l" d="M{scale.x(scale.low):.1f} {_AXIS}H{scale.x(scale.high):.1f}"/>'


def _gate(
    scale: _Scale, at: float | None, limit: Quantity | None, *, foot: int, anchor: str
) -> Iterator[str]:
    """Draw a limit as a bracket that opens towards what lies within, its value beside it."""
    if at is None:
        return
    x = scale.x(at)
    yield f'<path class="l t" d="M{x + foot:.1f} {_TOP}h{-foot}v{_TALL}h{foot}"/>'
    yield f'<text class="{anchor}" x="{x + 2 * foot:.1f}" y="57">{escape(str(limit))}</text>'


def _value(scale: _Scale, value: float, doubt: float, readings: list[float]) -> Iterator[str]:
    """Draw the value as a dot with its doubt as a bar, and the readings that it is the mean of as rings."""
    if doubt:
        left, right = scale.x(value - doubt), scale.x(value + doubt)
        bar = f"M{left:.1f} {_AXIS}H{right:.1f}M{left:.1f} {_AXIS - 5}v10M{right:.1f} {_AXIS - 5}v10"
        yield f'<path class="l t" d="{bar}"/>'
    yield from (f'<circle class="l r" cx="{scale.x(at):.1f}" cy="{_AXIS}" r="3"/>' for at in readings)
    yield f'<circle cx="{scale.x(value):.1f}" cy="{_AXIS}" r="4.5"/>'
