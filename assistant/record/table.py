"""A table of plain text, and how moments are written in one."""

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

Rows = Iterable[tuple[object, ...]]

_FORMULA: Final = re.compile(r"(?![+-]\d+(\.\d+)?( [A-Za-z%./]+)?$)[=+\-@\t\r]")
"""How a cell begins that a spreadsheet would work out, unless it is a number with a sign, with or without a unit."""


@dataclass(frozen=True)
class Table:
    """One table: its name (that of its file), its title, its head and its rows."""

    name: str
    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def csv(self) -> str:
        """Write it as RFC 4180 has it, words that look like a formula behind an apostrophe (OWASP ASVS 5.0, 1.2.10)."""
        text = io.StringIO()
        writer = csv.writer(text)
        writer.writerows(map(_inert, row) for row in (self.head, *self.rows))
        return text.getvalue()


def _inert(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) else cell


def table(name: str, title: str, head: str, rows: Rows) -> Table:
    """Make a table of rows of anything, its head written with bars between."""
    texts = (tuple("" if cell is None else str(cell) for cell in row) for row in rows)
    return Table(name, title, tuple(head.split(" | ")), tuple(texts))


def when(at: datetime | None) -> str:
    """Write a moment to the second, by its own clock."""
    return f"{at:%Y-%m-%d %H:%M:%S}" if at else ""
