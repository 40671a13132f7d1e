"""A measurement as a folder: figures, a page that holds them, and the summary."""

import base64
import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from assistant.evaluate.figures import draw_all
from assistant.evaluate.measuring import Measured
from assistant.evaluate.tables import Cells, false_cells, range_cells, side_by_side_cells

PAGE: Final = "evaluation.html"
SUMMARY: Final = "summary.json"

_SPLITS: Final = ("snr", "what is said, snr", "noise", "noise, snr", "speaker")
_PARTS: Final = ("talk", "noise", "outside")
_MOST_CONFUSIONS: Final = 60


def write_report(measured: Measured, folder: Path) -> Path:
    """Write figures (PNG), the page and the summary into the folder; give the page's path."""
    figures = [(title, _address(path)) for title, path in draw_all(measured.heard, measured.details, folder)]
    page = folder / PAGE
    template = Environment(
        loader=PackageLoader("assistant.evaluate"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    ).get_template(PAGE)
    text = template.render(figures=figures, tables=list(_tables(measured)))
    page.write_text(text, encoding="utf-8")
    (folder / SUMMARY).write_text(json.dumps({"summary": measured.summary}, indent=1), encoding="utf-8")
    return page


def _address(path: Path) -> str:
    """Give an address that holds the picture itself."""
    return f"data:image/png;base64,{base64.b64encode(path.read_bytes()).decode()}"


def _tables(measured: Measured) -> Iterator[tuple[str, Cells]]:
    yield "All engines", side_by_side_cells(measured.summary)
    for by in _SPLITS:
        yield f"Commands, by {by}", range_cells(measured.details, by)
    for part in _PARTS:
        if any(row["by"] == f"{part} taken" for row in measured.details):
            yield f"Taken for a command: {part}", false_cells(measured.details, f"{part} taken")
    yield "Most often taken for another", _confused(measured.details)


def _confused(rows: Sequence[dict[str, Any]]) -> Cells:
    found = sorted((row for row in rows if row["by"] == "confusion"), key=lambda row: -row["n"])
    return ["engine", "said", "best guess", "times"], [
        [row["engine"], row["value"], row["heard"], str(row["n"])] for row in found[:_MOST_CONFUSIONS]
    ]
