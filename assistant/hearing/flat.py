"""Write linked rules as one plain JSGF text, for decoders that read the format for themselves.

What cannot be said is left out, not written as VOID: pocketsphinx drops a whole rule for one
alternative of that kind. That is why pyjsgf's own writer does not serve.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final

from jsgf import expansions as tree

from assistant.hearing.jsgf import Reference
from assistant.hearing.linking import Linked

_NOTHING: Final = "<NULL>"


def flat_jsgf(rules: Mapping[str, Linked], root: str) -> str:
    """Write the rules without tags and imports; only `root` is public.

    A rule that calls itself at its end stays so.
    """
    names = {name: f"r{number}" for number, name in enumerate(_sayable(rules))}
    lines = [
        f"{'public ' if name == root else ''}<{short}> = {_written(rules[name], names)};"
        for name, short in names.items()
    ]
    return "\n".join(("#JSGF V1.0;", "grammar flat;", *lines, ""))


def _sayable(rules: Mapping[str, Linked]) -> list[str]:
    """List the rules with something to say: those that have it given the ones found before."""
    found: dict[str, str] = {}
    while new := [name for name in rules if name not in found and _written(rules[name], found) is not None]:
        found |= dict.fromkeys(new, "")
    return [name for name in rules if name in found]


def _written(rule: Linked, names: Mapping[str, str]) -> str | None:
    known = {reference: names[full] for reference, full in rule.targets.items() if full in names}
    return _write(rule.expansion, known)


def _write(item: Any, known: Mapping[str, str]) -> str | None:
    """Write an expansion; None where it cannot be said. `known` gives the names of the rules that can."""
    return _WRITERS[type(item).__name__](item, known)


def _literal(item: Any, _known: Mapping[str, str]) -> str | None:
    return str(item.text)


def _sequence(item: Any, known: Mapping[str, str]) -> str | None:
    parts = [_write(part, known) for part in item.children]
    said = [part for part in parts if part is not None]
    if len(said) < len(parts):
        return None
    return said[0] if len(said) == 1 else f"({' '.join(said)})"


def _alternatives(item: Any, known: Mapping[str, str]) -> str | None:
    said = [
        f"/{item.weights[part]:g}/ {text}" if item.weights else text
        for part in item.children
        if (text := _write(part, known)) is not None
    ]
    return f"({' | '.join(said)})" if said else None


def _optional(item: Any, known: Mapping[str, str]) -> str | None:
    said = _write(item.child, known)
    return _NOTHING if said is None else f"[{said}]"


def _star(item: Any, known: Mapping[str, str]) -> str | None:
    said = _write(item.child, known)
    return _NOTHING if said is None else f"({said})*"


def _plus(item: Any, known: Mapping[str, str]) -> str | None:
    said = _write(item.child, known)
    return None if said is None else f"({said})+"


def _null(_item: Any, _known: Mapping[str, str]) -> str | None:
    return _NOTHING


def _void(_item: Any, _known: Mapping[str, str]) -> str | None:
    return None


def _reference(item: Any, known: Mapping[str, str]) -> str | None:
    return f"<{known[item.name]}>" if item.name in known else None


_WRITERS: Mapping[str, Callable[[Any, Mapping[str, str]], str | None]] = {
    tree.Literal.__name__: _literal,
    tree.Sequence.__name__: _sequence,
    tree.RequiredGrouping.__name__: _sequence,
    tree.AlternativeSet.__name__: _alternatives,
    tree.OptionalGrouping.__name__: _optional,
    tree.KleeneStar.__name__: _star,
    tree.Repeat.__name__: _plus,
    tree.NullRef.__name__: _null,
    tree.VoidRef.__name__: _void,
    Reference.__name__: _reference,
}
