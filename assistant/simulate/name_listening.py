"""The proof that names can be told apart: each is spoken by several voices in noise, and must be heard as itself.

The product's own recogniser hears it, with the grammar of a step and all the names of the procedure in it.
"""

import random
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.hearing.ear import Ear
from assistant.hearing.grammar import Grammar, words_of
from assistant.hearing.opening import open_recogniser
from assistant.hearing.pronouncing import grammar_for
from assistant.hearing.recogniser import Recogniser
from assistant.hearing.sayable import Name, longer_names, names
from assistant.procedure.finding import Finding
from assistant.procedure.model import Procedure
from assistant.procedure.review.table import Weighed
from assistant.procedure.route import route_through
from assistant.simulate.ears import Speech, blocks, speakers_here
from assistant.simulate.mechanic import same_meaning
from assistant.simulate.noise import workshop
from assistant.sound import Sound

CARRIERS: Final = {
    "group": ("step", "torque {}"),
    "part": ("step", "where is the {}"),
    "kit": ("step", "{} fitted"),
    "tool": ("step", "{} in"),
    "supply": ("step", "{} applied"),
    "thing": ("step", "note about {}"),
    "value": ("step", "what was the {}"),
    "person": ("person", "{}"),
    "told": ("told", "{}"),
}
"""By the kind of a name, the grammar in which it can be said, and one way to say it there."""

_NOISE_S: Final = 20.0
_MANY: Final = 3
"""With so many names, of which most are lost in the same words, the words are to blame."""
_MOST_UNHEARD: Final = 0.5
_TRIED: Final = 3
"""So many longer names are listened to for one that is lost: a few seconds each."""
_MORE: Final = "give it a word that tells more, or another name"
_ASKED_AGAIN: Final = (
    "it is asked again, nothing worse; a longer name, with its place or part, may be heard better"
)

Better = Callable[[Name], str]
"""Says what to do about a name that is not heard as itself; "" where it knows of nothing."""


@dataclass(frozen=True)
class HeardName:
    """One saying of a name: by which voice, what it was heard as ("" where it was asked again), and whether rightly."""

    name: Name
    said: str
    voice: str
    heard: str
    right: bool


@dataclass(frozen=True)
class Listener:
    """Several voices in noise, and the recogniser that hears them."""

    speech: Speech
    recogniser: Recogniser

    def hear(self, name: Name, grammar: Grammar) -> Iterator[HeardName]:
        """Have a name heard from every voice."""
        said = CARRIERS[name.kind][1].format(name.words)
        wanted = grammar.match(words_of(said))
        for speaker in self.speech.speakers:
            got = _heard(self.speech.said(said, speaker), self.recogniser, grammar)
            right = wanted is not None and same_meaning(got, wanted.intents)
            yield HeardName(name, said, speaker.name, " + ".join(map(_told, got)), right)


def open_listener(
    snr_db: float, *, seed: int = 1, engine: str | None = None, model: Path | None = None
) -> Listener:
    """Bring voices, noise and recogniser. Raises AssistantError where nothing speaks or hears."""
    speech = Speech(speakers_here(), workshop(_NOISE_S, seed), snr_db, random.Random(seed))
    return Listener(speech, open_recogniser(engine, model=model))


def proven(procedure: Procedure, listener: Listener) -> Iterator[Weighed]:
    """Find the names that are taken for something else, and as advice those that most voices have to say again."""
    heard, snr_db = tuple(hear_names(procedure, listener)), listener.speech.snr_db

    def better(name: Name) -> str:
        return _better(procedure, name, listener)

    yield from ((found, "finding") for found in confusions(heard, snr_db, better))
    yield from ((found, "advice") for found in weakly_heard(heard, snr_db, better))


def hear_names(procedure: Procedure, listener: Listener) -> Iterator[HeardName]:
    """Have every name heard from every voice that is here."""
    route = route_through(procedure)
    mine = names(procedure)
    grammars = {mode: grammar_for(route, mode) for mode in {CARRIERS[name.kind][0] for name in mine}}
    for name in mine:
        yield from listener.hear(name, grammars[CARRIERS[name.kind][0]])


def _better(procedure: Procedure, name: Name, listener: Listener) -> str:
    """Listen to longer names made of the words of its steps; give the first that most voices are understood with."""
    for words in longer_names(procedure, name, names(procedure))[:_TRIED]:
        grammar = grammar_for(route_through(procedure), CARRIERS[name.kind][0], {name.words: words})
        rows = [*listener.hear(replace(name, words=words), grammar)]
        if not _taken(rows) and not _is_lost(rows):
            right = sum(row.right for row in rows)
            return f"{words!r} was understood from {right} of {len(rows)}: call it so, or otherwise longer"
    return ""


def _heard(sound: Sound, recogniser: Recogniser, grammar: Grammar) -> tuple[Intent, ...]:
    ear = Ear(recogniser=recogniser, grammar_now=lambda: grammar)
    found = [each for block in blocks(sound) for each in ear.push(block)]
    return tuple(intent for each in (*found, *ear.end()) if each.accepted for intent in each.intents)


def _told(intent: Intent) -> str:
    return " ".join((intent.name, *intent.slots.values()))


def confusions(heard: Sequence[HeardName], snr_db: float, better: Better) -> Iterator[Finding]:
    """Give a finding for each name that was taken for something else by some voice: that may cost an engine."""
    for name, rows in _by_name(heard).items():
        if _taken(rows):
            yield Finding(path=name.path, what=_what(rows, snr_db), do=better(name) or _MORE)


def weakly_heard(heard: Sequence[HeardName], snr_db: float, better: Better) -> Iterator[Finding]:
    """Give advice for each name that is taken for nothing else, but not understood from most of the voices.

    That costs a breath, since it is asked again; and a voice made by a machine is not the mechanic's. Where most
    names of a kind are lost, the words around them are to blame, which is told once.
    """
    by_name = _by_name(heard)
    lost = {name: rows for name, rows in by_name.items() if not _taken(rows) and _is_lost(rows)}
    drowned = _drowned_kinds(by_name, lost)
    for kind in sorted(drowned):
        yield _drowned([name for name in lost if name.kind == kind], snr_db)
    for name, rows in lost.items():
        if name.kind not in drowned:
            yield Finding(path=name.path, what=_what(rows, snr_db), do=better(name) or _ASKED_AGAIN)


def _drowned_kinds(names: Iterable[Name], lost: Iterable[Name]) -> set[str]:
    """Give the kinds of names of which most are lost: there no other name is a remedy."""
    counted, gone = Counter(name.kind for name in names), Counter(name.kind for name in lost)
    return {kind for kind, of in counted.items() if of >= _MANY and gone[kind] > _MOST_UNHEARD * of}


def _by_name(heard: Sequence[HeardName]) -> dict[Name, list[HeardName]]:
    by_name: dict[Name, list[HeardName]] = {}
    for each in heard:
        by_name.setdefault(each.name, []).append(each)
    return by_name


def _drowned(lost: Sequence[Name], snr_db: float) -> Finding:
    """Say that it is the words around the names, all of one kind, that are not heard."""
    which = ", ".join(name.words for name in lost)
    around = CARRIERS[lost[0].kind][1].format("...")
    what = f"{around!r} at {snr_db:g} dB was not understood from most voices with {which}"
    return Finding(
        path=lost[0].path,
        what=f"{what}: it is rather the words around the names than the names",
        do="come nearer to the microphone, or wear it; another name hardly helps",
    )


def _taken(rows: Sequence[HeardName]) -> list[str]:
    """Give what a name was taken for."""
    return sorted({row.heard for row in rows if row.heard and not row.right})


def _is_lost(rows: Sequence[HeardName]) -> bool:
    return sum(not row.right for row in rows) > _MOST_UNHEARD * len(rows)


def _what(rows: Sequence[HeardName], snr_db: float) -> str:
    taken = _taken(rows)
    unheard = sum(not row.heard for row in rows if not row.right)
    parts = [f"taken for {' and for '.join(map(repr, taken))}"] if taken else []
    parts += [f"not understood from {unheard} of {len(rows)} voices"] if unheard else []
    return f"{rows[0].said!r} at {snr_db:g} dB was {', and '.join(parts)}"
