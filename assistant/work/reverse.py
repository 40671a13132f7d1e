"""A draft of the way back: what came off last goes on first.

The draft is a procedure that can be loaded, with a step for each part that came off and, beside it as a
comment, what the teardown knows of it; torques, cautions and checks are for the author to complete.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from io import StringIO
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from assistant.errors import JobError
from assistant.job.events import Entry, LabelGiven, PartRemoved, PartReturned
from assistant.job.fold import replay
from assistant.job.folder import JobFolder
from assistant.job.state import JobState, Laid
from assistant.job.things import is_label, is_loose
from assistant.procedure.load import parse_procedure
from assistant.procedure.model import Procedure
from assistant.record.timeline import taken_back, undone_turns
from assistant.work.opening import route_of

_HEAD: Final = """\
A draft, made from the teardown {job}: what came off last goes on first.
The order and the places are as they were recorded; everything else is yours to complete, from the
maker's manual: cautions, fasteners with their torques and stages, gaskets, supplies, waits and checks.
What is marked "complete:" is a guess. Take this remark out when you have gone through it all.
"""


@dataclass(frozen=True)
class Removed:
    """One part that came off and is not back: its name or label, and how it lies."""

    thing: str
    laid: Laid
    notes: tuple[str, ...]


def removed(entries: Sequence[Entry]) -> tuple[Removed, ...]:
    """Give what came off and is still off, in the order in which it came off; what was taken back does not count."""
    undone = undone_turns(entries)
    state = replay(entries)
    order: dict[str, None] = {}
    for entry in entries:
        thing = _thing(entry)
        if not thing or taken_back(entry, undone):
            continue
        if isinstance(entry.event, PartReturned):
            order.pop(thing, None)
        else:
            order.setdefault(thing)
    return tuple(
        Removed(thing, state.off[thing], _notes(state, thing)) for thing in order if thing in state.off
    )


def _thing(entry: Entry) -> str:
    event = entry.event
    if isinstance(event, LabelGiven):
        return event.label
    return event.thing if isinstance(event, PartRemoved | PartReturned) else ""


def _notes(state: JobState, thing: str) -> tuple[str, ...]:
    return tuple(note.file for note in state.notes if note.label == thing)


def draft(folder: JobFolder) -> str:
    """Draft the procedure of the way back from a job's teardown, as YAML text that loads.

    Raises JobError where nothing is recorded as taken off.
    """
    entries = tuple(folder.journal.entries())
    parts = removed(entries)
    if not parts:
        raise JobError(
            "nothing is recorded as taken off in this job",
            where=folder.name,
            do='say "took off" and the name, or give it a label',
        )
    route = route_of(folder, replay(entries).route)
    text = _text(_document(route.procedure, folder.name, parts, entries[0].at))
    parse_procedure(text, name=f"the draft of {folder.name}")  # what is written here must load
    return text


def _document(procedure: Procedure, job: str, parts: Sequence[Removed], began: datetime) -> CommentedMap:
    steps = CommentedSeq(_step(part, place) for place, part in enumerate(reversed(parts), start=1))
    document = CommentedMap(
        procedure=f"The way back: {procedure.procedure}",
        revision=1,
        **({"demonstration": True} if procedure.demonstration else {}),
        about=f"Drafted from the teardown {job} of {began:%Y-%m-%d}.",
        cautions=CommentedSeq(procedure.cautions),
        parts=_parts(procedure, parts),
        steps=steps,
    )
    document.yaml_set_start_comment(_HEAD.format(job=job))
    for key, remark in _REMARKS.items():
        document.yaml_set_comment_before_after_key(key, before=remark)
    for number, part in enumerate(reversed(parts)):
        steps.yaml_set_comment_before_after_key(number, before=_remark(part), indent=2)
    return document


_REMARKS: Final = {
    "cautions": "complete: those of the teardown; what can hurt on the way back?",
    "parts": "complete: add the kit (use_once, count), and what goes on each part (apply)",
}


def _parts(procedure: Procedure, parts: Sequence[Removed]) -> CommentedMap:
    """Give the parts with what the teardown's procedure says of them; a label stands for itself."""
    return CommentedMap((part.thing, _known(procedure, part)) for part in parts if not is_loose(part.thing))


def _known(procedure: Procedure, part: Removed) -> dict[str, Any]:
    known = procedure.parts.get(part.thing)
    return known.model_dump(mode="json", exclude_defaults=True) if known else {}


def _step(part: Removed, place: int) -> CommentedMap:
    name = re.sub(r"[^a-z0-9]+", "-", f"fit-{place}-{part.thing.lower()}").strip("-")
    step = CommentedMap(step=name, say=_say(part))
    if not is_loose(part.thing):
        step["put_back"] = part.thing
    return step


def _say(part: Removed) -> str:
    what = "the loose part" if is_loose(part.thing) else _named(part.thing)
    told = (*((f"from {part.laid.place}",) if part.laid.place else ()), *part.laid.told.values())
    return ", ".join((f"Fit {what}", *told)) + "."


def _named(thing: str) -> str:
    return f"what is labelled {thing}" if is_label(thing) else f"the {thing}"


def _remark(part: Removed) -> str:
    described = f"; described in {', '.join(part.notes)}" if part.notes else ""
    return f"came off at step {part.laid.step}, {part.laid.at:%H:%M} UTC{described}\ncomplete: tighten, apply, check"


def _text(document: CommentedMap) -> str:
    yaml = YAML()
    yaml.width = 100
    yaml.indent(mapping=2, sequence=4, offset=2)
    out = StringIO()
    yaml.dump(document, out)
    return out.getvalue()
