"""How the command line shows tables: as wide as they are, or one thing under the other where that is too wide."""

from collections.abc import Sequence
from typing import Final

from rich.console import Console
from rich.markup import escape
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table

_INDENT: Final = 4
_NO_END: Final = 10_000


def show_rows(console: Console, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Show rows as a table, in which no name is broken.

    What is not a terminal (a pipe, a file) gets every row on one line. On a terminal that is too narrow for the table,
    each row is a paragraph: its first cell, and the others under it with their columns' names.
    """
    table = Table(*columns)
    for row in rows:
        table.add_row(*map(escape, row))
    width = Measurement.get(console, console.options.update(max_width=_NO_END), table).maximum
    if not console.is_terminal:
        Console(file=console.file, width=max(width, console.width)).print(table)
    elif width <= console.width:
        console.print(table)
    else:
        _show_paragraphs(console, columns, rows)


def _show_paragraphs(console: Console, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    for row in rows:
        console.print(f"[bold]{escape(row[0])}[/]", highlight=False)
        for column, cell in zip(columns[1:], row[1:], strict=True):
            if cell:
                console.print(Padding(f"{column}: {escape(cell)}", (0, 0, 0, _INDENT)), highlight=False)
