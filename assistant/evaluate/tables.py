"""The results as tables: text that is read on a terminal and pasted into a page alike, or cells for a page."""

from collections.abc import Sequence
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
    """Give the summary of every engine, one a row; shares in per cent, for the ratios one after the other."""
    snrs = list(rows[0]["right"]) if rows else []
    head = [
        "engine",
        "clips",
        *(f"{name} {' / '.join(snrs)}" for name in _NAMES.values()),
        *("talk taken", "an hour", "noise taken", "an hour", "reply p50 / p95", "decoding", "memory"),
    ]
    return head, [_engine_row(row, snrs) for row in rows]


def range_cells(rows: Sequence[dict[str, Any]], by: str) -> Cells:
    """Give the details of one kind, with the 95 % range of each share."""
    wanted = [row for row in rows if row["by"] == by]
    head = ["engine", by, "n", *(f"{name} %" for name in _NAMES.values())]
    return (
        head,
        [
            [row["engine"], row["value"], str(row["n"]), *(_ranged(row[outcome.value]) for outcome in _NAMES)]
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


def _engine_row(row: dict[str, Any], snrs: Sequence[str]) -> list[str]:
    latency = row["latency_ms"]
    return [
        f"{row['engine']} {row['revision']}".strip(),
        str(row["n"]),
        *(" / ".join(_figure(row[outcome.value].get(snr)) for snr in snrs) for outcome in _NAMES),
        *_taken(row, "talk"),
        *_taken(row, "noise"),
        f"{_figure(latency['p50'], 0)} / {_figure(latency['p95'], 0)} ms",
        f"{_figure(row['rtf'], 2)} of its length",
        f"{_figure(row['rss_mb'], 0)} MB",
    ]


def _taken(row: dict[str, Any], part: str) -> tuple[str, str]:
    share, an_hour = row[f"false_{part}"], row[f"false_{part}_per_hour"]
    bound = _figure(row[f"false_{part}_per_hour_at_most"], 0)
    return f"{_figure(share)} %", f"{_figure(an_hour, 0)} (up to {bound})"


def _ranged(share: dict[str, float] | None) -> str:
    return _NONE if share is None else f"{share['share']:.1f} ({share['low']:.1f} to {share['high']:.1f})"


def _figure(value: float | None, figures: int = 1) -> str:
    return _NONE if value is None else f"{value:.{figures}f}"
