"""From tags to intents: what the tags of a grammar mean, and whether they fit together.

A tag with `=` at its end, `{position=}`, keeps the words under it as a slot; one with a value,
`{reason=part missing}`, sets the slot; any other names an intent, which takes the slots since
the intent before. So "number four done, next" gives two intents, the first with a position.
"""

from collections.abc import Iterable, Sequence
from itertools import chain

from assistant.dialogue.intents import SPOKEN, Intent
from assistant.errors import HearingError
from assistant.hearing.automaton import Automaton, Span

_SLOTS = frozenset(chain.from_iterable(SPOKEN.values()))


def check_tag(tag: str, where: str) -> None:
    """Raise HearingError for a tag that names no intent and no slot."""
    slot, equals, _ = tag.partition("=")
    if equals and slot.strip() not in _SLOTS:
        raise HearingError(f"no intent takes the slot {slot!r}", where=where, do=f"use {_listed(_SLOTS)}")
    if not equals and tag not in SPOKEN:
        raise HearingError(f"there is no intent {tag!r}", where=where, do=f"use {_listed(SPOKEN)}")


def intents_of(words: Sequence[str], spans: Iterable[Span]) -> tuple[Intent, ...]:
    """Collect the intents of a matched utterance, in the order they were spoken."""
    intents = []
    slots: dict[str, str] = {}
    for span in spans:
        slot, equals, constant = span.tag.partition("=")
        if equals:
            slots[slot.strip()] = constant.strip() or " ".join(words[span.start : span.end])
        else:
            intents.append(Intent(name=span.tag, slots=slots))
            slots = {}
    return tuple(intents)


def check_flow(automaton: Automaton, where: str) -> None:
    """Raise HearingError where a slot can reach an intent that does not take it, or none at all.

    Follows the slots that may be waiting along every arc until nothing is new.
    """
    arcs: dict[int, list[tuple[int, str | None]]] = {}
    for source, target, tag in automaton.moves():
        arcs.setdefault(source, []).append((target, tag))
    start, accept = automaton.ends
    pending: dict[int, frozenset[str]] = {start: frozenset()}
    waiting = [start]
    while waiting:
        state = waiting.pop()
        for target, tag in arcs.get(state, ()):
            carried = _carried(pending[state], tag, where) | pending.get(target, frozenset())
            if carried != pending.get(target):
                pending[target] = carried
                waiting.append(target)
    if left := pending.get(accept):
        raise HearingError(f"no intent follows the slot {min(left)!r}", where=where, do="tag one after it")


def _carried(slots: frozenset[str], tag: str | None, where: str) -> frozenset[str]:
    if tag is None:
        return slots
    slot, equals, _ = tag.partition("=")
    if equals:
        return slots | {slot.strip()}
    if extra := slots - set(SPOKEN[tag]):
        raise HearingError(f"the intent {tag!r} does not take the slot {min(extra)!r}", where=where)
    return frozenset()


def _listed(known: Iterable[str]) -> str:
    return ", ".join(sorted(known))
