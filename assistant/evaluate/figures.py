"""The figures of a measurement: shares against noise, the trade-off of acceptance, who is taken for whom.

The only module that needs matplotlib, which is an extra.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from assistant.evaluate.tally import NOTHING, confusions, trade_off
from assistant.evaluate.workers import Results

_DPI: Final = 120
_COLOURS: Final = ("#0b5394", "#b45f06", "#38761d", "#741b47", "#444444", "#990000")
_MARKS: Final = "osD^vP"
_LEGEND_COLUMNS: Final = 6
_SPREAD: Final = 0.06  # keeps the bars of two engines apart
_DEMANDS: Final = tuple(float(each) for each in np.linspace(0, 1, 201))
_MOST_PHRASES: Final = 24
_MOST_STRANGERS: Final = 6
_OTHERS: Final = "(another)"
_PALE: Final = 0.5  # above it, figures are written in white

Rows = Sequence[dict[str, Any]]


def draw_all(heard: Sequence[Results], details: Rows, folder: Path) -> Iterator[tuple[str, Path]]:
    """Draw every figure into the folder; give each one's title and path."""
    yield (
        "Right, wrong and asked again, against noise",
        _saved(_against_noise(details), folder / "against-noise.png"),
    )
    yield (
        "Wrong against not acted on, as the demand of confidence moves",
        _saved(_trade_off(heard), folder / "trade-off.png"),
    )
    for each in heard:
        path = folder / f"confusion-{each.engine}.png"
        yield f"What was said, and the best guess: {each.engine}", _saved(_confusion(each), path)


def _saved(figure: Figure, path: Path) -> Path:
    figure.savefig(path, dpi=_DPI)
    return path


def _against_noise(details: Rows) -> Figure:
    rows = [row for row in details if row["by"] == "snr"]
    figure = Figure(figsize=(11, 4.5), layout="constrained")
    parts: Sequence[tuple[str, Axes]] = list(
        zip(("right", "wrong", "again"), figure.subplots(1, 3), strict=True)
    )
    for outcome, axes in parts:
        for number, engine in enumerate(dict.fromkeys(row["engine"] for row in rows)):
            _share_line(axes, [row for row in rows if row["engine"] == engine], outcome, number)
        axes.set_ylim(bottom=0, top=100 if outcome == "right" else None)
        axes.set_xlabel("speech above noise, dB")
        axes.set_ylabel("of commands, %")
        axes.grid(visible=True, alpha=0.3)
    for (_, axes), title in zip(parts, ("right", "wrong, acted on", "asked again"), strict=True):
        axes.set_title(title)
    figure.legend(*parts[0][1].get_legend_handles_labels(), loc="outside upper center", ncols=_LEGEND_COLUMNS)
    return figure


def _share_line(axes: Axes, rows: Rows, outcome: str, number: int) -> None:
    """Draw an engine's line with the 95 % ranges, the ratios at even steps since "clean" is no number."""
    places = np.arange(len(rows)) + number * _SPREAD
    shares = [row[outcome] for row in rows]
    middle = np.array([each["share"] for each in shares])
    below = middle - [each["low"] for each in shares]
    above = np.array([each["high"] for each in shares]) - middle
    axes.errorbar(
        places,
        middle,
        yerr=np.maximum(0, [below, above]),
        color=_COLOURS[number % len(_COLOURS)],
        marker=_MARKS[number % len(_MARKS)],
        capsize=3,
        label=rows[0]["engine"],
    )
    axes.set_xticks(np.arange(len(rows)), [row["value"] for row in rows])


def _trade_off(heard: Sequence[Results]) -> Figure:
    figure = Figure(figsize=(max(6.0, 5.5 * len(heard)), 4.8), layout="constrained")
    row = figure.subplots(1, len(heard), squeeze=False, sharex=True, sharey=True)[0]
    for engine, axes in zip(heard, row, strict=True):
        _curves(axes, engine)
        axes.set_title(engine.engine)
        axes.set_xlabel("not acted on, % of commands")
        axes.grid(visible=True, alpha=0.3)
        axes.set_xlim(0, 100)
        axes.legend(title="dB; dot: as it is", fontsize="small", loc="upper right")
    row[0].set_ylabel("wrong, acted on, % of commands")
    row[0].set_ylim(bottom=0)
    return figure


def _curves(axes: Axes, engine: Results) -> None:
    spoken = [each for each in engine.played if each.part == "speech" and each.said]
    for number, snr in enumerate(dict.fromkeys(each.snr for each in spoken)):
        results = [each for each in spoken if each.snr == snr]
        colour = _COLOURS[number % len(_COLOURS)]
        points = trade_off(results, _DEMANDS)
        axes.plot(*zip(*points, strict=True), color=colour, label=snr)
        counted = Counter(each.outcome.value for each in results)
        kept = 100 * (counted["again"] + counted["ignored"]) / len(results)
        axes.plot([kept], [100 * counted["wrong"] / len(results)], "o", color=colour, clip_on=False, zorder=3)


def _confusion(engine: Results) -> Figure:
    counted = confusions(engine.played)
    names = sorted(
        name for name, _ in Counter(text for text, _ in counted.elements()).most_common(_MOST_PHRASES)
    )
    strangers = Counter(guess for _, guess in counted.elements() if guess not in (*names, NOTHING))
    columns = [*names, *sorted(name for name, _ in strangers.most_common(_MOST_STRANGERS)), _OTHERS, NOTHING]
    table = np.zeros((len(names), len(columns)))
    for (text, guess), count in counted.items():
        if text in names:
            column = guess if guess in columns else _OTHERS
            table[names.index(text), columns.index(column)] += count
    return _drawn(table, names, columns)


def _drawn(table: Any, names: Sequence[str], columns: Sequence[str]) -> Figure:
    size = 2.2 + 0.36 * len(columns)
    figure = Figure(figsize=(size + 0.6, 1.4 + 0.33 * max(len(names), 4)), layout="constrained")
    axes: Axes = figure.subplots()
    shares = table / np.maximum(table.sum(axis=1, keepdims=True), 1)
    axes.imshow(shares, cmap="Blues", vmin=0, vmax=1, aspect="auto")
    axes.set_xticks(range(len(columns)), columns, rotation=60, ha="right", rotation_mode="anchor")
    axes.set_yticks(range(len(names)), names)
    axes.set_xlabel("best guess, acted on or not, at every ratio")
    axes.set_ylabel("said")
    for (row, column), count in np.ndenumerate(table):
        if count:
            colour = "white" if shares[row, column] > _PALE else "black"
            axes.text(column, row, f"{count:.0f}", ha="center", va="center", fontsize=7, color=colour)
    return figure
