"""The proof that names can be told apart: each is spoken by several voices in noise, and must be heard as itself.

The product's own recogniser hears it, with the grammar of a step and all the names of the procedure in it.
"""

import random
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
    return tuple(_confused(name, rows, snr_db) for name, rows in by_name.items() if _is_confused(rows))


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
