"""The names that a mechanic may say, taken from the procedure: they fill the slots of the grammars."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from assistant.dialogue.numbers import words_for
from assistant.job.things import DIGITS, LETTERS, LOOSE
from assistant.procedure.route import Route

MOST_CALLED: Final = 999
"""Steps up to this number can be gone to by voice; of a longer job the numbers alone would fill the grammar."""


def names_of(route: Route) -> Mapping[str, Sequence[str]]:
    """Give the names by kind, as the grammars' `<names.…>` rules call them."""
    groups = {step.tighten.group for step in route.steps if step.tighten}
    return {
        "group": sorted(route.procedure.groups[name].spoken for name in groups),
        "thing": things(route),
        "value": sorted(route.givers),
        "step": [words_for(number) for number in range(1, min(len(route.steps), MOST_CALLED) + 1)],
        "person": list(route.procedure.people),
        "part": machine_parts(route),
        "placed": placed(route),
        "kit": kit_parts(route),
        "tool": sorted(route.procedure.tools),
        "supply": supplies(route),
        "told": _answers(route),
        **_words_for_things(route),
    }


def _words_for_things(route: Route) -> Mapping[str, Sequence[str]]:
    """Give the words that are of use only where parts come off, something is put on, or something goes in."""
    parts, puts_on = machine_parts(route), supplies(route)
    return {
        "letter": LETTERS if parts else (),
        "digit": DIGITS if parts else (),
        "loose": (LOOSE,) if parts else (),
        "applied": ("applied",) if puts_on else (),
        "inside": ("inside", "still in the engine") if route.procedure.tools else (),
    }


def kit_parts(route: Route) -> Sequence[str]:
    """Name the parts that come from the kit."""
    return sorted({name for step in route.steps for name in step.use})


def machine_parts(route: Route) -> Sequence[str]:
    """Name the parts that come off and go back: those that a step says so of, and those that no step uses."""
    moved = {name for step in route.steps for name in (*step.take_off, *step.put_back)}
    used = {name for step in route.procedure.steps for name in step.use}
    return sorted(moved | (set(route.procedure.parts) - used))


def placed(route: Route) -> Sequence[str]:
    """Name what may be looked for: every part of the procedure, and every tool that goes in and out."""
    return sorted({*route.procedure.parts, *machine_parts(route), *route.procedure.tools})


def supplies(route: Route) -> Sequence[str]:
    """Name what is put on at the steps of the route."""
    return sorted({supply.what for step in route.steps for supply in route.supplies(step)})


def _answers(route: Route) -> Sequence[str]:
    parts = (route.procedure.parts[name] for name in machine_parts(route))
    return sorted({answer for part in parts for each in part.questions.values() for answer in each.answers})


def name_in(names: Iterable[str], said: str) -> str:
    """Give the name that was said, as its author writes it; what was said where it is none of them."""
    return next((name for name in names if _spelled(name) == _spelled(said)), said)


def _spelled(name: str) -> str:
    tokens = re.findall(r"[^\W\d_]+(?:'[^\W\d_]+)*|\d+", name.lower())
    return " ".join(words_for(int(token)) if token.isdecimal() else token for token in tokens)


def things(route: Route) -> Sequence[str]:
    """Name what a note can be about: the groups, parts and tools of the route, and its parts of one kind together."""
    groups = {route.procedure.groups[step.tighten.group].spoken for step in route.steps if step.tighten}
    moved = {name for step in route.steps for name in (*step.use, *step.put_in, *step.take_out)}
    return sorted(groups | moved | set(machine_parts(route)) | set(together(route)))


def together(route: Route) -> Mapping[str, Sequence[str]]:
    """Name the parts of one kind that a step moves, by the name for all of them: "push rods"."""
    moved = (names for step in route.steps for names in (step.use, step.take_off, step.put_back))
    kinds = ((kind_of(names), names) for names in moved if len(set(names)) > 1)
    return {several(kind): names for kind, names in kinds if kind}


def several(kind: str) -> str:
    """Give the word for several of a kind: "push rods", "bushes"; of one that is written so, itself, "shims"."""
    if kind.endswith(("ss", "x", "z", "ch", "sh")):
        return f"{kind}es"
    return kind if kind.endswith("s") else f"{kind}s"


def kind_of(names: Sequence[str]) -> str:
    """Give what the names of several parts call all of them, apart from which and where; nothing where they differ."""
    phrases = [_without_place(name.split()) for name in names]
    shared = min(phrases, key=len) if phrases else []
    while shared and any(words[-len(shared) :] != shared for words in phrases):
        shared = shared[1:]
    return " ".join(shared)


def _without_place(words: list[str]) -> list[str]:
    """Leave out the numbers and places that a name ends in."""
    while words and (words[-1] in _PLACES or words[-1].isdecimal()):
        words = words[:-1]
    return words


_PLACES: Final = frozenset({"front", "rear", "left", "right", "upper", "lower", "inner", "outer"}) | {
    words_for(number) for number in range(1, 100)
}
