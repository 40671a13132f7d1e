"""The results as tables: text that is read on a terminal and pasted into a page alike, or cells for a page."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any, Final

from assistant.evaluate.scoring import Outcome

_NAMES: Final = {
    Outcome.RIGHT: "right",
    Outcome.WRONG: "wrong, acted on",
    Outcome.AGAIN: "asked again",
    Outcome.IGNORED: "ignored",
}
_NONE: Final = "-"


Cells = tuple[list[str], list[list[str]]]
"""A table's head and its rows."""


def written(cells: Cells) -> str:
    """Write a table in Markdown, its columns even."""
    head, rows = cells
    widths = [max(len(cell) for cell in column) for column in zip(head, *rows, strict=True)]
    lines = [head, ["-" * width for width in widths], *rows]
    return "\n".join(f"| {' | '.join(map(str.ljust, line, widths))} |" for line in lines)


def side_by_side_cells(rows: Sequence[dict[str, Any]]) -> Cells:
    """Give every engine's summary, one a column; shares in per cent, for the ratios one after the other.

    What none of them has is left out.
    """
    snrs = " / ".join(rows[0]["right"]) if rows else ""
    lines: list[tuple[str, Callable[[dict[str, Any]], str]]] = [
        ("revision of its model", lambda row: row["revision"] or _NONE),
        ("digest of the code", lambda row: row["code"]),
        ("commands", lambda row: str(row["n"])),
        *((f"{name}, %, {snrs}", partial(_shares, outcome)) for outcome, name in _NAMES.items()),
        ("other talk taken for a command", partial(_taken, "talk")),
        ("bare noise taken for a command", partial(_taken, "noise")),
        ("what cannot be said now, taken", partial(_taken, "outside")),
        ("end of speech to answer, p50 / p95", _latency),
        ("decoding, of the sound's own length", lambda row: _figure(row["rtf"], 2)),
        ("memory of a process with it", lambda row: f"{_figure(row['rss_mb'], 0)} MB"),
    ]
    cells = [[name, *(written_of(row) for row in rows)] for name, written_of in lines]
    return ["", *(row["engine"] for row in rows)], [line for line in cells if set(line[1:]) != {_NONE}]


def range_cells(rows: Sequence[dict[str, Any]], by: str) -> Cells:
    """Give the details of one kind, with the 95 % range of each share, and how long the answers took."""
    wanted = [row for row in rows if row["by"] == by]
    head = ["engine", by, "n", *(f"{name} %" for name in _NAMES.values()), "p50 / p95"]
    return (
        head,
        [
            [
                *(row["engine"], row["value"], str(row["n"])),
                *(_ranged(row[outcome.value]) for outcome in _NAMES),
                _latency(row),
            ]
            for row in wanted
        ],
    )


def false_cells(rows: Sequence[dict[str, Any]], by: str) -> Cells:
    """Give what was taken of talk or noise, with ranges."""
    wanted = [row for row in rows if row["by"] == by]
    head = ["engine", by, "n", "taken %", "asked about %", "hours", "taken an hour", "at most (95 %)"]
    return (
        head,
        [
            [
                *(row["engine"], row["value"], str(row["n"]), _ranged(row["taken"]), _ranged(row["asked"])),
                *(f"{row['hours']:.2f}", _figure(row["an_hour"]), _figure(row["an_hour_at_most"])),
            ]
            for row in wanted
        ],
    )


def _shares(outcome: Outcome, row: dict[str, Any]) -> str:
    return " / ".join(_figure(share) for share in row[outcome.value].values()) or _NONE


def _taken(part: str, row: dict[str, Any]) -> str:
    share, an_hour, bound = (row[f"false_{part}{end}"] for end in ("", "_per_hour", "_per_hour_at_most"))
    if share is None:
        return _NONE
    return f"{_figure(share)} %; {_figure(an_hour, 0)} an hour, at most {_figure(bound, 0)}"


def _latency(row: dict[str, Any]) -> str:
    return f"{_figure(row['latency_ms']['p50'], 0)} / {_figure(row['latency_ms']['p95'], 0)} ms"


def _ranged(share: dict[str, float] | None) -> str:
    return _NONE if share is None else f"{share['share']:.1f} ({share['low']:.1f} to {share['high']:.1f})"


def _figure(value: float | None, figures: int = 1) -> str:
    return _NONE if value is None else f"{value:.{figures}f}"
