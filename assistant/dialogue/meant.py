"""What was meant, whatever the words: numbers count by their value, units by their symbol.

"One one zero newton meters" is what "one hundred ten newton metres" is.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import value_of
from assistant.dialogue.units_spoken import unit_of
from assistant.errors import DialogueError


def meant(intents: Iterable[Intent]) -> tuple[str, ...]:
    """Write what was meant, one text for each intent: its name, and its slots in the order of theirs."""
    return tuple(
        " ".join(
            (intent.name, *(f"{slot}={_slot(slot, said)}" for slot, said in sorted(intent.slots.items())))
        )
        for intent in intents
    )


def plain(words: Sequence[str]) -> str:
    """Write words as one text, numbers as figures."""
    try:
        return str(value_of(words))
    except DialogueError:
        return " ".join(words)


def _unit(said: str) -> str:
    try:
        return unit_of(said)
    except DialogueError:
        return said


_WRITERS: Final[Mapping[str, Callable[[str], str]]] = MappingProxyType({"unit": _unit})


def _slot(slot: str, said: str) -> str:
    return _WRITERS[slot](said) if slot in _WRITERS else plain(said.split())
