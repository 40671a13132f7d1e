"""The proof that names can be told apart: each is spoken by several voices in noise, and must be heard as itself.

The product's own recogniser hears it, with the grammar of a step and all the names of the procedure in it.
"""

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.hearing.ear import Ear
from assistant.hearing.grammar import Grammar, words_of
from assistant.hearing.opening import open_recogniser
from assistant.hearing.pronouncing import grammar_for
from assistant.hearing.recogniser import Recogniser
from assistant.hearing.sayable import Name, names
from assistant.procedure.finding import Finding
from assistant.procedure.model import Procedure
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
"""Being asked again costs a breath, being taken for something else may cost an engine."""


@dataclass(frozen=True)
class HeardName:
    """One saying of a name: by which voice, what it was heard as ("" where it was asked again), and whether rightly."""

    name: Name
    said: str
    voice: str
    heard: str
    right: bool


def hear_names(
    procedure: Procedure,
    *,
    snr_db: float,
    seed: int = 1,
    engine: str | None = None,
    model: Path | None = None,
) -> Iterator[HeardName]:
    """Have every name heard from every voice that is here. Raises AssistantError where nothing speaks or hears."""
    speech = Speech(speakers_here(), workshop(_NOISE_S, seed), snr_db, random.Random(seed))
    recogniser = open_recogniser(engine, model=model)
    route = route_through(procedure)
    mine = names(procedure)
    grammars = {mode: grammar_for(route, mode) for mode in {CARRIERS[name.kind][0] for name in mine}}
    for name in mine:
        mode, carrier = CARRIERS[name.kind]
        for speaker in speech.speakers:
            said = carrier.format(name.words)
            wanted = grammars[mode].match(words_of(said))
            got = _heard(speech.said(said, speaker), recogniser, grammars[mode])
            right = wanted is not None and same_meaning(got, wanted.intents)
            yield HeardName(name, said, speaker.name, " + ".join(map(_told, got)), right)


def _heard(sound: Sound, recogniser: Recogniser, grammar: Grammar) -> tuple[Intent, ...]:
    ear = Ear(recogniser=recogniser, grammar_now=lambda: grammar)
    found = [each for block in blocks(sound) for each in ear.push(block)]
    return tuple(intent for each in (*found, *ear.end()) if each.accepted for intent in each.intents)


def _told(intent: Intent) -> str:
    return " ".join((intent.name, *intent.slots.values()))


def confusions(heard: Sequence[HeardName], snr_db: float) -> tuple[Finding, ...]:
    """Give a finding for each name that was taken for something else, or not understood from most of the voices."""
    by_name: dict[Name, list[HeardName]] = {}
    for each in heard:
        by_name.setdefault(each.name, []).append(each)
    hard = {name: rows for name, rows in by_name.items() if _is_confused(rows)}
    unheard = [name for name, rows in hard.items() if not any(row.heard for row in rows if not row.right)]
    counted, lost = Counter(name.kind for name in by_name), Counter(name.kind for name in unheard)
    drowned = {kind for kind, of in counted.items() if of >= _MANY and lost[kind] > _MOST_UNHEARD * of}
    told = [name for name in hard if not (name in unheard and name.kind in drowned)]
    of_carriers = (
        _drowned(kind, [each for each in unheard if each.kind == kind], snr_db) for kind in sorted(drowned)
    )
    return (*(_confused(name, hard[name], snr_db) for name in told), *of_carriers)


def _drowned(kind: str, lost: Sequence[Name], snr_db: float) -> Finding:
    """Say that it is the words around the names that are not heard, for which no other name is a remedy."""
    which = ", ".join(name.words for name in lost)
    what = f"{CARRIERS[kind][1].format('...')!r} at {snr_db:g} dB was not understood from most voices with {which}"
    return Finding(
        path=lost[0].path,
        what=f"{what}: it is rather the words around the names than the names",
        do="come nearer to the microphone, or wear it; another name hardly helps",
    )


def _is_confused(rows: Sequence[HeardName]) -> bool:
    taken = any(row.heard and not row.right for row in rows)
    return taken or sum(not row.right for row in rows) > _MOST_UNHEARD * len(rows)


def _confused(name: Name, rows: Sequence[HeardName], snr_db: float) -> Finding:
    wrong = [row for row in rows if not row.right]
    taken = sorted({row.heard for row in wrong if row.heard})
    unheard = sum(not row.heard for row in wrong)
    parts = [f"taken for {' and for '.join(map(repr, taken))}"] if taken else []
    parts += [f"not understood from {unheard} of {len(rows)} voices"] if unheard else []
    what = f"{rows[0].said!r} at {snr_db:g} dB was {', and '.join(parts)}"
    return Finding(path=name.path, what=what, do="give it a word that tells more, or another name")
