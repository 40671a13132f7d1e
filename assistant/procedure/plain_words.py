"""What a model refuses, in an author's words instead of pydantic's: what is wrong, and what to write."""

from difflib import get_close_matches
from typing import Any, Final, NamedTuple

from pydantic_core import ErrorDetails


class Refused(NamedTuple):
    """What is wrong, and what to write instead ("" where `what` says it)."""

    what: str
    do: str = ""


_WHOLE: Final = Refused("{given} is no whole number", "write a whole number")
_KEYS: Final = Refused("{given} stands where keys with values belong", "write key: value, a line each")
_NO_KEYS: Final = Refused("nothing stands here", "write its keys, or {{}} where it needs none")
_SYMBOLS: Final = Refused("{given} stands where text belongs", "put text with [ ] or {{ }} between quotes")
_RECTANGLE: Final = Refused("{given} is no rectangle", "write rows x columns, such as 2x4")
_DAY: Final = Refused("", "write it so: 2026-03-31")
_BLANK: Final = Refused("nothing stands here", "write it; what begins with # or : goes between quotes")

_WORDS: Final = {
    "missing": Refused("the key {last} is missing", "add the key {last}: and its value"),
    "int_parsing": _WHOLE,
    "int_type": _WHOLE,
    "int_from_float": _WHOLE,
    "string_type": Refused("{given} is not text", 'put it between quotes: "{given}"'),
    "string_type NoneType": _BLANK,
    "string_type rectangle": _RECTANGLE,
    "string_type list": _SYMBOLS,
    "string_type dict": _SYMBOLS,
    "string_too_short": _BLANK,
    "tuple_type": Refused("{given} is no list", "write a list: [first, second]"),
    "too_short": Refused("the list is empty", "write at least one"),
    "bool_parsing": Refused("{given} is neither true nor false", "write true or false"),
    "bool_type": Refused("{given} is neither true nor false", "write true or false"),
    "model_type": _KEYS,
    "model_type NoneType": _NO_KEYS,
    "dict_type": _KEYS,
    "dict_type NoneType": _NO_KEYS,
    "date_from_datetime_parsing": _DAY,
    "date_type": _DAY,
    "greater_than": Refused("{given} is too small", "write more than {gt}"),
    "greater_than_equal": Refused("{given} is too small", "write at least {ge}"),
    "less_than_equal": Refused("{given} is too large", "write at most {le}"),
    "literal_error": Refused("{given} is not known here", "write {expected}"),
    "string_pattern_mismatch": Refused(
        "{given} cannot be a name here", "use small letters, digits and hyphens, such as fit-gasket"
    ),
    "string_pattern_mismatch rectangle": _RECTANGLE,
}
"""By pydantic's type of error, with what was given or the key where it matters."""


def refused(detail: ErrorDetails) -> Refused:
    """Say what a model refused. What the models say themselves is kept, and so is what no row knows."""
    last = str(detail["loc"][-1]) if detail["loc"] else ""
    given, kind = detail.get("input"), detail["type"]
    row = (
        _WORDS.get(f"{kind} {last}")
        or _WORDS.get(f"{kind} {type(given).__name__}")
        or _WORDS.get(kind, Refused(""))
    )
    filled = {"last": last, "given": _shown(given), **detail.get("ctx", {})}
    own = detail["msg"].removeprefix("Value error, ").removeprefix("Assertion failed, ")
    do = _meant(detail) or row.do.format(**filled)
    return Refused(row.what.format(**filled) or own, do)


def _shown(given: Any) -> str:
    """Show what was given: words in quotes, numbers as they are, and of what holds more only its kind."""
    kinds = {list: "a list", dict: "a set of keys", type(None): "nothing"}
    return kinds.get(type(given)) or (repr(given) if isinstance(given, str | int | float) else "this")


def _meant(detail: ErrorDetails) -> str:
    """Propose the word of a list that a misspelt one was probably meant to be."""
    if detail["type"] != "literal_error":
        return ""
    known = [word.strip("'") for word in detail["ctx"]["expected"].replace(" or ", ", ").split(", ")]
    close = get_close_matches(
        str(detail.get("input")).strip("\u201c\u201d\u2018\u2019\"'").lower(), known, n=1
    )
    return f"did you mean {close[0]}? Known are {', '.join(known)}" if close else ""
