"""What stops the YAML reader, in an author's words: where it is, what is wrong, and how to mend it."""

import re
from dataclasses import dataclass
from typing import Final, NamedTuple

from ruamel.yaml.error import MarkedYAMLError, YAMLError

_QUOTES: Final = "put the words between quotes"


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One fault: its line and column (from 1), what is wrong, and what to do."""

    line: int
    column: int
    what: str
    do: str


class _Told(NamedTuple):
    """What the reader says, or what stands in the line, and what that means to an author.

    `begun` is told where the thing, or the line, began, not where the reader gave up.
    """

    said: str
    what: str
    do: str
    begun: bool = False


_NO_BREAK: Final = _Told(
    r"[^\"'#]*\u00a0", "what looks like a blank here is none", "write it again with the space bar"
)
_LINES: Final = (
    _Told(r"[^\"'#\t]*\t", "a tab stands here", "write blanks instead"),
    _NO_BREAK,
    _Told(r"^ *-(?![\s\d-])", "a blank is missing behind the dash", "write a dash, a blank, and the rest"),
)
"""By what stands in the line where the reader gave up: the reader's own words mislead there."""

_NO_BLANK: Final = _Told(
    r"^ *(?:- )?[\w ]+:(?=[^\s:/])",
    "a blank is missing behind the colon",
    "write a colon, a blank, and the value",
)
"""The same of the line before, which the reader takes for the beginning of words."""

_NO_COLON: Final = _Told(
    r"^ *[^\s:#\"'\[{-][^:]*$",
    "words stand here without a key, or a key without its colon",
    "write key: value",
    begun=True,
)
"""The same, where both lines begin at one column."""

_SAID: Final = (
    _Told(r"character '(.)' that cannot start", "words cannot begin with {0}", _QUOTES),
    _Told(r"chomping or indentation", "words cannot begin with > or |", _QUOTES),
    _Told(r"(?:undefined alias|scanning an alias)", "words cannot begin with *", _QUOTES),
    _Told(r"duplicate key \"(.*?)\" with", "the key {0} stands here twice", "take one out, or rename it"),
    _Told(r"duplicate key", "a key stands here twice", "take one out, or rename it"),
    _Told(
        r"quoted scalar.*(?:end of stream|separator)",
        "a quote begins here and does not end",
        "close it",
        begun=True,
    ),
    _Told(r"escape", "a backslash between double quotes means something else", "use single quotes"),
    _NO_COLON._replace(said="expected ':'"),
    _Told(
        r"mapping values",
        "a colon cannot stand here",
        "put words that hold one between quotes, and begin a key right below the one before",
    ),
    _Told(
        r"flow (?:sequence|mapping).*expected ',' or",
        "a bracket is opened here and not closed, or lacks a comma inside",
        "write ] or }, and a comma between two",
        begun=True,
    ),
    _Told(
        r"expected <block end>.*scalar",
        "words stand behind a closing quote or bracket",
        "quote all, or nothing",
    ),
    _Told(
        r"expected <block end>",
        "this line does not begin below those that it belongs to",
        "begin lines that belong together at one column",
    ),
    _Told(r"another document", "a second procedure begins here", "take --- out, or make two files"),
)


def fault_of(error: YAMLError, text: str) -> Fault:
    """Say what stopped the reader. What no row knows keeps the reader's own words."""
    if not isinstance(error, MarkedYAMLError):
        before = text[: getattr(error, "position", 0)]
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        return Fault(line=line, column=column, what="it has a character that no text has", do="take it out")
    return _in_line(error, text) or _by_words(error)


def _in_line(error: MarkedYAMLError, text: str) -> Fault | None:
    if error.problem_mark is None:
        return None
    number = error.problem_mark.line
    lines = ["", *text.splitlines(), ""]
    here, before = lines[min(number + 1, len(lines) - 1)], lines[min(number, len(lines) - 1)]
    looked = [(row, here, number + 1) for row in _LINES]
    if "mapping values" in str(error.problem):
        looked += [(_NO_BLANK, here, number + 1), (_NO_BLANK, before, number), (_NO_BREAK, before, number)]
        looked += [(_NO_COLON, before, number)] if _indent(before) == _indent(here) else []
    for row, line, at in looked:
        if found := re.match(row.said, line):
            column = _indent(line) + 1 if row.begun else found.end()
            return Fault(line=at, column=column, what=row.what, do=row.do)
    return None


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _by_words(error: MarkedYAMLError) -> Fault:
    words = f"{error.context} {error.problem}".replace("\n", " ")
    for row in _SAID:
        if found := re.search(row.said, words):
            mark = error.context_mark if row.begun and error.context_mark else error.problem_mark
            return _at(mark, row.what.format(*found.groups()), row.do)
    return _at(error.problem_mark, str(error.problem), "check indentation, quotes and colons")


def _at(mark: object, what: str, do: str) -> Fault:
    line, column = getattr(mark, "line", 0), getattr(mark, "column", 0)
    return Fault(line=line + 1, column=column + 1, what=what, do=do)
