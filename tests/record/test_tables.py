"""A record as tables: what a spreadsheet gets."""

import csv
import io

import pytest

from assistant.record.gather import gather
from assistant.record.table import Table
from assistant.record.tables import positions, tables
from assistant.record.wrenches import read_shop
from tests.record.sample import demonstration, sample_entries

RECORD = gather(demonstration(), sample_entries(settled=True))
UNSETTLED = gather(demonstration(), sample_entries())


def _by_name(name: str) -> Table:
    return next(table for table in tables(RECORD) if table.name == name)


def test_every_row_has_a_cell_for_each_column() -> None:
    """No table has a row that is longer or shorter than its head, and names do not repeat."""
    for record in (RECORD, UNSETTLED):
        found = tables(record)
        assert len({table.name for table in found}) == len(found)
        for table in (*found, *map(positions, record.groups)):
            assert all(len(row) == len(table.head) for row in table.rows), table.name


def test_csv_reads_back() -> None:
    """What a spreadsheet reads is what was written, also with commas, quotes and line ends in it."""
    table = Table("x", "X", ("a", "b"), (('one, "two"', "three\nfour"), ("", "ß")))
    rows = list(csv.reader(io.StringIO(table.csv(), newline="")))
    assert [tuple(row) for row in rows] == [table.head, *table.rows]


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=HYPERLINK(1)", "'=HYPERLINK(1)"),
        ("+ one washer", "'+ one washer"),
        ("-1+cmd|x", "'-1+cmd|x"),
        ("-1 mm+A1", "'-1 mm+A1"),
        ("@work", "'@work"),
        ("\t=1", "'\t=1"),
        ("\r=1", "'\r=1"),
        ("-0.05 mm", "-0.05 mm"),
        ("+3", "+3"),
        ("-12 lbf.ft", "-12 lbf.ft"),
        ("a = b", "a = b"),
        ("", ""),
    ],
)
def test_words_are_no_formula_in_a_spreadsheet(cell: str, written: str) -> None:
    """What was spoken or typed is never worked out by whoever opens the file; a number stays a number.

    Source: OWASP ASVS 5.0, requirement 1.2.10; CWE-1236; OWASP's page "CSV Injection" for the carriage return.
    """
    _, row = csv.reader(io.StringIO(Table("x", "X", ("a", "b"), ((cell, "."),)).csv(), newline=""))
    assert row == [written, "."]


def test_fasteners_have_a_row_for_each_act() -> None:
    """Every act at every position is there, with its value and its time."""
    acts = sum(len(row.works) for group in RECORD.groups for row in group.positions)
    table = _by_name("fasteners")
    assert len(table.rows) == acts > 0
    assert table.rows[0][:6] == ("Head bolts", "1", "final", "1 of 4", "1", "snug")
    assert table.rows[0][-3] == "2031-03-04 08:07:40"


def test_notes_say_what_they_are_about_and_whose_text_it_is() -> None:
    """A corrected text names who corrected it, a rough one says so."""
    first, second = _by_name("notes").rows
    assert first[6:8] == ("the gasket was torn at the front", "pocketsphinx, rough")
    assert (second[2], second[4]) == ("fault found", "Rocker bolts, position 4")
    assert second[6:8] == ("The nut is worn.", "corrected by Sam")


def test_departures_say_by_whom() -> None:
    """Each departure names who worked then."""
    table = next(table for table in tables(UNSETTLED) if table.name == "departures")
    assert [row[-1] for row in table.rows] == ["Jo", "Jo", "Jo"]


def test_a_shop_is_read_or_is_empty() -> None:
    """A job without a list of tools has no wrenches; one with it has them."""
    assert read_shop(None, "shop.yaml").wrenches == ()
    text = "wrenches:\n  - {name: a, least: 5 N.m, most: 50 N.m, resolution: 1 N.m}\n"
    assert [wrench.name for wrench in read_shop(text, "shop.yaml").wrenches] == ["a"]
