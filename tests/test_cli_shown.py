"""Tables on the command line, with long names, in terminals of any width and in pipes."""

import io
import re

import pytest
from rich.console import Console

from assistant.cli_shown import show_rows

COLUMNS = ("job", "procedure", "state")
ROWS = (
    (
        "The big [old] generator set in the barn of the lower farm",
        "Two-cylinder diesel, head gasket and valve gear",
        "open",
    ),
    ("short", "", "closed"),
)
NAMES = tuple(cell for row in ROWS for cell in row if cell)


def shown(width: int, *, terminal: bool) -> list[str]:
    """Show the rows; gives the lines without colours."""
    out = io.StringIO()
    show_rows(Console(file=out, width=width, force_terminal=terminal), COLUMNS, ROWS)
    return re.sub(r"\x1b\[[\d;]*m", "", out.getvalue()).splitlines()


@pytest.mark.parametrize("width", [20, 80, 200])
def test_in_a_pipe_every_row_is_one_line_with_its_full_names(width: int) -> None:
    """However narrow the system believes the pipe to be, a name can be found in it."""
    lines = shown(width, terminal=False)
    for row in ROWS:
        (line,) = [line for line in lines if row[0] in line]
        assert all(cell in line for cell in row)


def test_a_wide_terminal_gets_the_table() -> None:
    """One line a job."""
    lines = shown(200, terminal=True)
    assert sum(any(row[0] in line for row in ROWS) for line in lines) == len(ROWS)
    assert "procedure" in lines[1]


@pytest.mark.parametrize("width", [24, 40, 80])
def test_a_narrow_terminal_gets_a_paragraph_for_each_row(width: int) -> None:
    """No line is too long, no word is broken, and what is empty is left out."""
    lines = shown(width, terminal=True)
    assert all(len(line.rstrip()) <= width for line in lines)
    words = " ".join(" ".join(lines).split())
    assert all(name in words for name in NAMES)
    assert sum("procedure:" in line for line in lines) == 1
    assert not re.search(r"[┃│…]", words)
