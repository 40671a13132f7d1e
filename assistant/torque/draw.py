"""A group drawn as SVG text: where its positions lie, their numbers, the order, and how far each has come.

Every state has its own outline and its own word, so that a black and white print, or an eye that
does not tell colours apart, loses nothing.
"""

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from html import escape
from itertools import pairwise

from assistant.torque.group import FastenerGroup
from assistant.torque.ledger import PositionRecord, Standing
from assistant.torque.order import Point

_RADIUS = 24.0
_PITCH = 112.0
_MARGIN = 64.0
_LINE = 18.0
_HEAD = 52.0
_WORDS = 34.0
_TURN = 30.0
_CLEAR = _RADIUS + 8
_ASIDES = (0.25, -0.25, 0.0, 0.15, -0.15, 0.4, -0.4, 0.08, -0.08, 0.5, -0.5)
_LEGEND_PITCH = 128.0
_IN_A_ROW = 3

_PLANNED = PositionRecord(standing=Standing.HAND)
"""A position where there is no job: drawn as a fastener that is there, and nothing said of it."""

_STYLE = (
    "text{font-family:sans-serif;fill:#000;text-anchor:middle;stroke:#fff;stroke-width:4;paint-order:stroke}"
    ".n{font-size:18px;font-weight:bold}.w{font-size:12px}.t{font-size:18px;text-anchor:start}"
    ".l{text-anchor:start}.o{font-size:12px;font-style:italic}"
    ".s{stroke:#000;stroke-width:2;fill:#fff}.thin{stroke-width:1.5;stroke-dasharray:4 4}"
    ".grey{fill:#c8c8c8}.dark{fill:#000}.on{fill:#fff;stroke:none}"
    ".a{stroke:#555;stroke-width:1.5;fill:none;marker-end:url(#tip)}"
)
_TIP = (
    '<defs><marker id="tip" viewBox="0 0 10 10" refX="9" refY="5" markerWidth="7" markerHeight="7"'
    ' orient="auto-start-reverse"><path d="M0 0 10 5 0 10z" fill="#555"/></marker></defs>'
)


def draw(group: FastenerGroup, records: Mapping[int, PositionRecord] | None = None) -> str:
    """Draw the group as an SVG document; a position without a record is not touched.

    Without any records it is drawn as it is planned: there is no job yet, so nothing is said of how far it is.
    """
    places = _places(group)
    held = {} if records is None else {at: records.get(at, PositionRecord()) for at in group.positions}
    words = {at: [*_words(group, at, held.get(at))] for at in group.positions}
    lowest = max(y for _, y in places.values()) + _MARGIN
    legend, depth = _legend(held.values(), lowest + _LINE)
    heading = f"{group.spoken or 'fasteners'}{_remarks(group)}"
    wide = (max(x for x, _ in places.values()) + _MARGIN, 2 * _MARGIN + 2 * _LEGEND_PITCH, _wide(heading))
    width = max(wide)
    title = escape(group.spoken or "fasteners")
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {lowest + depth:.0f}" role="img">',
        f"<title>{title}</title>{_summary(held)}<style>{_STYLE}</style>{_TIP}",
        '<rect width="100%" height="100%" fill="#fff"/>',
        f'<text class="t" x="16" y="30">{escape(heading)}</text>',
        *_arrows(group, places, {at for at, said in words.items() if said}),
        *(_position(at, places[at], held.get(at), words[at]) for at in group.positions),
        *_turns(group, places),
        *legend,
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _places(group: FastenerGroup) -> dict[int, Point]:
    """Give each position's place on the sheet, downwards, so spread that no two touch."""
    points = group.points()
    left, top = min(x for x, _ in points), max(y for _, y in points)
    nearest = min((math.dist(a, b) for i, a in enumerate(points) for b in points[:i]), default=1.0)
    scale = _PITCH / nearest
    return {
        number: (_MARGIN + (x - left) * scale, _HEAD + _MARGIN + (top - y) * scale)
        for number, (x, y) in enumerate(points, start=1)
    }


def _remarks(group: FastenerGroup) -> str:
    again = "tightened again after the first heat" if group.retorque_after_heat else ""
    said = [group.thread or "", "left-hand thread" if group.left_hand else "", again]
    text = ", ".join(remark for remark in said if remark)
    return f" ({text})" if text else ""


def _wide(heading: str) -> float:
    """Give the width that a heading needs, by the mean width of a letter."""
    return 32 + 10.5 * len(heading)


def _summary(held: Mapping[int, PositionRecord]) -> str:
    text = "; ".join(f"{position} {_word(record)}" for position, record in held.items())
    return f"<desc>{escape(text)}</desc>" if held else ""


def _word(record: PositionRecord) -> str:
    """Give the word that stands at a position."""
    return "centring tool" if _kind(record) == "tool" else record.words


def _arrows(group: FastenerGroup, places: Mapping[int, Point], worded: Collection[int]) -> list[str]:
    """Draw the order from each position to the next, from rim to rim, or to the words below it."""
    if not group.order_matters():
        return []
    arrows = []
    for start, end in pairwise(group.sequence()):
        others = [place for position, place in places.items() if position not in (start, end)]
        arrows.append(_arrow(places[start], places[end], others, worded=end in worded))
    return arrows


def _arrow(start: Point, end: Point, others: Sequence[Point], *, worded: bool) -> str:
    length = math.dist(start, end)
    bend = _bend(start, end, others)
    first = _between(start, bend, (_RADIUS + 4) / length)
    last = _between(end, bend, (_RADIUS + _gap(bend, end, worded=worded)) / length)
    path = " ".join(f"{x:.1f} {y:.1f}" for x, y in (bend, last))
    return f'<path class="a" d="M{first[0]:.1f} {first[1]:.1f} Q{path}"/>'


def _gap(bend: Point, end: Point, *, worded: bool) -> float:
    """Give how far from a rim an arrow ends, so that neither the words nor the turn there hide its head."""
    right, down = bend[0] - end[0], bend[1] - end[1]
    if worded and down > abs(right):
        return _WORDS
    return _TURN if right > 0 and 0.3 * right < -down < 1.6 * right else 8.0


def _bend(start: Point, end: Point, others: Sequence[Point]) -> Point:
    """Give the point that bends an arrow so that it passes beside what lies in its way, to its left if it can."""
    length = math.dist(start, end)
    if length <= _PITCH * 1.1:
        return _aside(start, end, 0.0)
    bends = [_aside(start, end, aside * min(1.0, 320 / length)) for aside in _ASIDES]
    return max(bends, key=lambda bend: min(_clearance(start, bend, end, others), _CLEAR))


def _aside(start: Point, end: Point, aside: float) -> Point:
    """Give the point that lies off the middle by a share of the length, to the left where that is above zero."""
    across = (end[1] - start[1]) * aside, (start[0] - end[0]) * aside
    return (start[0] + end[0]) / 2 + across[0], (start[1] + end[1]) / 2 + across[1]


def _clearance(start: Point, bend: Point, end: Point, others: Sequence[Point]) -> float:
    """Give how near the bent line comes to the middle of any other position."""
    on_it = []
    for part in (0.05 * i for i in range(1, 20)):
        weights = ((1 - part) ** 2, 2 * part * (1 - part), part**2)
        x, y = (sum(w * p[axis] for w, p in zip(weights, (start, bend, end), strict=True)) for axis in (0, 1))
        on_it.append((x, y))
    return min((math.dist(point, other) for point in on_it for other in others), default=_CLEAR)


def _between(start: Point, towards: Point, share: float) -> Point:
    """Go from `start` towards the bend (which lies half way) by a share of the whole length."""
    part = min(1.0, 2 * share)
    return start[0] + (towards[0] - start[0]) * part, start[1] + (towards[1] - start[1]) * part


def _turns(group: FastenerGroup, places: Mapping[int, Point]) -> list[str]:
    """Write beside each position which turn it has in the order."""
    if not group.order_matters():
        return []
    corners = [(places[p][0] + _RADIUS + 8, places[p][1] - _RADIUS + 2) for p in group.sequence()]
    return [
        f'<text class="o" x="{x:.1f}" y="{y:.1f}">{turn}.</text>'
        for turn, (x, y) in enumerate(corners, start=1)
    ]


def _position(position: int, place: Point, record: PositionRecord | None, words: Sequence[str]) -> str:
    x, y = place
    below = "".join(
        f'<text class="w" x="{x:.1f}" y="{y + _RADIUS + 14 + 13 * row:.1f}">{escape(word)}</text>'
        for row, word in enumerate(words)
    )
    return f'<g id="position-{position}">{_shape(record or _PLANNED, place, str(position))}{below}</g>'


def _words(group: FastenerGroup, position: int, record: PositionRecord | None) -> Iterator[str]:
    """Give the words below a position: how it stands, or what is planned there, and its length."""
    if record is not None:
        yield _word(record)
        if record.holds == "tool" and _kind(record) != "tool":
            yield "with a centring tool"
    elif position in group.centring:
        yield "centring tool"
    if length := group.lengths.get(position):
        yield str(length)


def _shape(record: PositionRecord, place: Point, number: str) -> str:
    """Draw the outline of a state with the position's number in it."""
    x, y = place
    kind = _kind(record)
    outline = _OUTLINES[kind]
    mark = _pie(record, place) if kind == "stage" else ""
    ink = "n on" if kind == "final" else "n"
    return f'{outline(x, y)}{mark}<text class="{ink}" x="{x:.1f}" y="{y + 6:.1f}">{escape(number)}</text>'


def _kind(record: PositionRecord) -> str:
    """Name the outline: doubt and damage before the tool that stands in the position."""
    wrong = record.standing in (Standing.DOUBTFUL, Standing.DAMAGED)
    return "tool" if record.holds == "tool" and not wrong else record.standing.name.lower()


def _ring(x: float, y: float, radius: float, style: str) -> str:
    return f'<circle class="s {style}" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>'


def _polygon(x: float, y: float, corners: int, *, turned: float = 0.0, radius: float = _RADIUS + 2) -> str:
    angles = [math.radians(turned) + 2 * math.pi * i / corners for i in range(corners)]
    points = " ".join(f"{x + radius * math.sin(a):.1f},{y - radius * math.cos(a):.1f}" for a in angles)
    return f'<polygon class="s" points="{points}"/>'


def _crossed(x: float, y: float) -> str:
    r = _RADIUS
    lines = f"M{x - r:.1f} {y - r:.1f}l{2 * r} {2 * r}m0 -{2 * r}l-{2 * r} {2 * r}"
    frame = f'<rect class="s" x="{x - r:.1f}" y="{y - r:.1f}" width="{2 * r}" height="{2 * r}"/>'
    plate = f'<rect x="{x - 13:.1f}" y="{y - 12:.1f}" width="26" height="24" fill="#fff"/>'
    return f'{frame}<path class="s" d="{lines}"/>{plate}'


def _pie(record: PositionRecord, place: Point) -> str:
    """Shade of the disc what has been reached of the stages, clockwise from the top."""
    x, y = place
    share = record.stage / record.stages if 0 < record.stage < record.stages else 0.999
    end = 2 * math.pi * share
    tip = x + _RADIUS * math.sin(end), y - _RADIUS * math.cos(end)
    arc = f"A{_RADIUS} {_RADIUS} 0 {int(share > 1 / 2)} 1 {tip[0]:.1f} {tip[1]:.1f}"
    return f'<path class="s grey" d="M{x:.1f} {y:.1f}V{y - _RADIUS:.1f}{arc}Z"/>'


_OUTLINES: dict[str, Callable[[float, float], str]] = {
    "untouched": lambda x, y: _ring(x, y, _RADIUS, "thin"),
    "hand": lambda x, y: _ring(x, y, _RADIUS, ""),
    "snug": lambda x, y: _polygon(x, y, 6, turned=30),
    "stage": lambda x, y: _ring(x, y, _RADIUS, ""),
    "final": lambda x, y: _ring(x, y, _RADIUS + 4, "") + _ring(x, y, _RADIUS - 1, "dark"),
    "doubtful": lambda x, y: _polygon(x, y + 4, 3, radius=_RADIUS + 12),
    "damaged": _crossed,
    "tool": lambda x, y: _polygon(x, y, 4, radius=_RADIUS + 6),
}


def _legend(held: Iterable[PositionRecord], top: float) -> tuple[list[str], float]:
    """Draw one sample of every state that occurs, three in a row; give them and the depth they take."""
    kinds = {_kind(record): record for record in held}
    samples = [kinds[kind] for kind in _OUTLINES if kind in kinds]
    drawn = []
    for i, record in enumerate(samples):
        x, y = 40.0 + i % _IN_A_ROW * _LEGEND_PITCH, top + i // _IN_A_ROW * 48
        word = "at a stage" if _kind(record) == "stage" else _word(record)
        sample = f'<g transform="translate({x:.0f} {y:.0f}) scale(0.5)">{_shape(record, (0.0, 0.0), "")}</g>'
        drawn.append(f'{sample}<text class="w l" x="{x + 24:.0f}" y="{y + 4:.0f}">{escape(word)}</text>')
    rows = -(-len(samples) // _IN_A_ROW)
    return drawn, _LINE + rows * 48.0
