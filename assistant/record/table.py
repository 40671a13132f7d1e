"""A table of plain text, and how moments are written in one."""

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

Rows = Iterable[tuple[object, ...]]


@dataclass(frozen=True)
class Table:
    """One table: its name (that of its file), its title, its head and its rows."""

    name: str
    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def csv(self) -> str:
        """Write it as RFC 4180 has it."""
        text = io.StringIO()
        writer = csv.writer(text)
        writer.writerows((self.head, *self.rows))
        return text.getvalue()


def table(name: str, title: str, head: str, rows: Rows) -> Table:
    """Make a table of rows of anything, its head written with bars between."""
    texts = (tuple("" if cell is None else str(cell) for cell in row) for row in rows)
    return Table(name, title, tuple(head.split(" | ")), tuple(texts))


def when(at: datetime | None) -> str:
    """Write a moment to the second, by its own clock."""
    return f"{at:%Y-%m-%d %H:%M:%S}" if at else ""
