"""How events become rows of text, chained by their hashes, and events again.

Every store keeps rows made here, so that all of them keep and refuse the same things. A row is

    seq, turn, at, kind, version, body, prev_hash, hash

where `body` is the event in canonical JSON (keys sorted, no spaces, the kind left out, as it
has its own column), `version` is the version of that kind's body, and `hash` is the SHA-256 of
all the others. A changed, missing or exchanged row breaks the chain at its `seq`. The hash is
taken of the text as kept, so it still holds when an old body is brought up to date on reading.
Rows cut off the end leave a shorter chain that is whole: only a hash noted elsewhere shows that.
"""

import hashlib
import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, datetime
from typing import Any, Final, NamedTuple

from pydantic import ValidationError

from assistant.errors import AssistantError, JobError
from assistant.job.events import EVENT, Entry, Event

Body = dict[str, Any]


def _left_untouched(body: Body) -> Body:
    """Name open positions by the word they have now, so that they are known again and not asked about once more."""
    return {**body, "item": re.sub(r": empty\)$", ": not touched)", body["item"])}


def _asked_in_the_reason(body: Body) -> Body:
    """Keep who asked for a step to be left out in the reason, as for every other departure."""
    reason = ", ".join(filter(None, (body["reason"], body.get("by", ""))))
    return {"step": body["step"], "reason": reason}


UPCASTERS: Final[dict[tuple[str, int], Callable[[Body], Body]]] = {
    ("open-accepted", 1): _left_untouched,
    ("step-skipped", 1): _asked_in_the_reason,
}
"""What brings an old body up to date: (kind, version) to the function that makes the next version.

The current version of a kind is the first one that has no function here. A new field with a
default needs none; a field that is renamed, removed or means something else does.
"""

NEWER: Final = "install the newer version"
DAMAGED: Final = "leave the file as it is and take up a copy of the job's folder"
_PLAIN: Final = "give plain values"


class Row(NamedTuple):
    """One entry as it is kept; `at` is ISO 8601 in UTC with microseconds."""

    seq: int
    turn: int
    at: str
    kind: str
    version: int
    body: str
    prev_hash: str
    hash: str


START: Final = Row(0, 0, "", "", 0, "", "", "0" * 64)
"""What the first entry follows: it is never kept."""


def current_version(kind: str) -> int:
    """Give the version in which bodies of a kind are written now."""
    version = 1
    while (kind, version) in UPCASTERS:
        version += 1
    return version


def follow(
    last: Row, turn: int, at: datetime, events: Sequence[Event]
) -> tuple[tuple[Row, ...], tuple[Entry, ...]]:
    """Make the rows of one turn, following the last row, and the entries that will be read from them.

    No entry is earlier than the one it follows, whatever clock `at` was read from: a turn that seems to be has the
    time of the last one. Raises JobError where an event would not be read as it is written, or the time has no zone.
    """
    if at.tzinfo is None:
        raise JobError("the time of an entry needs its time zone", do="give the time in UTC")
    stamp = max(at.astimezone(UTC), last_at(last) or at).astimezone(UTC).isoformat(timespec="microseconds")
    rows: list[Row] = []
    for event in events:
        kept = (last.seq + 1, turn, stamp, event.kind, current_version(event.kind), _body(event), last.hash)
        last = Row(*kept, hash=_hash(kept))
        rows.append(last)
    entries = tuple(map(entry, rows))
    for written, event in zip(entries, events, strict=True):
        if written.event != event:
            raise JobError(f"a {event.kind} event would not be read as it is written", do=_PLAIN)
    return tuple(rows), entries


def last_at(row: Row) -> datetime | None:
    """Give the time of a row; None of START, which has none."""
    return datetime.fromisoformat(row.at) if row.at else None


def broken(rows: Iterable[Row]) -> Iterator[tuple[Row, int | None]]:
    """Walk rows from the first; beside each, the entry that is missing or altered, if one is."""
    last = START
    for row in rows:
        whole = row.seq == last.seq + 1 and row.prev_hash == last.hash and row.hash == _hash(row[:-1])
        yield row, None if whole else last.seq + 1
        last = row


def entry(row: Row) -> Entry:
    """Read a row, its body brought up to date.

    Raises JobError, naming the entry, for an unknown kind or version and for a body that does not fit.
    """
    try:
        body = _current(row.kind, row.version, json.loads(row.body))
        event = EVENT.validate_python({**body, "kind": row.kind})
        return Entry(seq=row.seq, turn=row.turn, at=datetime.fromisoformat(row.at), event=event)
    except ValidationError as error:
        raise _unreadable(row, error) from error
    except (ValueError, TypeError, LookupError, AssistantError) as error:
        raise JobError(f"entry {row.seq} cannot be read ({error})", do=DAMAGED) from error


def _body(event: Event) -> str:
    fields = event.model_dump(mode="json", exclude={"kind"})
    try:
        text = json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
        text.encode()
    except (ValueError, TypeError) as error:
        raise JobError(f"a {event.kind} event cannot be written ({error})", do=_PLAIN) from error
    return text


def _hash(kept: tuple[Any, ...]) -> str:
    # A JSON list says where each value begins and ends, so no two rows give the same text. What no
    # row ever holds (bytes, put there by another hand) gets a text of its own instead of an error.
    text = json.dumps(kept, separators=(",", ":"), default=repr)
    return hashlib.sha256(text.encode()).hexdigest()


def _current(kind: str, version: int, body: Body) -> Body:
    newest = current_version(kind)
    if version > newest:
        raise ValueError(f"a {kind} of version {version}, this callout knows {newest}; {NEWER}")
    for number in range(version, newest):
        body = UPCASTERS[kind, number](body)
    return body


def _unreadable(row: Row, error: ValidationError) -> JobError:
    first = error.errors(include_url=False, include_context=False)[0]
    if first["type"] == "union_tag_invalid":
        return JobError(
            f"entry {row.seq} is of the kind {row.kind}, which this callout does not know", do=NEWER
        )
    field = ".".join(str(part) for part in first["loc"][1:])
    return JobError(f"entry {row.seq}, {row.kind}, cannot be read ({field}: {first['msg']})", do=DAMAGED)
