"""The names that a mechanic must say, looked at for their sound: too alike, too short, or only guessed.

Names are compared with those that can be said in the same place: groups with groups, values with values. A
person's name is said alone, so it is held against everything else that can be said there too. Steps are called
by their numbers, which no author can change: they are left out.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from assistant.dialogue.names import names_of, together
from assistant.hearing.alike import TOO_ALIKE, distance
from assistant.hearing.grammar import load_grammar, words_of
from assistant.hearing.pronouncing import Pronunciation, dictionary, pronounced
from assistant.hearing.spelling import syllables
from assistant.procedure.finding import Finding, Path
from assistant.procedure.model import Procedure, Step
from assistant.procedure.review.table import Weighed
from assistant.procedure.route import Route, route_through

SHORT_SOUNDS: Final = 3
"""A name of one syllable with no more sounds than these is easily lost in noise; common practice, no source."""

KINDS: Final = ("group", "part", "kit", "tool", "supply", "thing", "value", "person", "told")
"""The kinds of names that an author gives, as the grammars call them; "told" are answers about a part."""

_FAMILY: Final = "use the family name too"
_SHORTEST_WORD: Final = 3
_MOST_PHRASES: Final = 200
_MOST_COMMANDS: Final = 5000


@dataclass(frozen=True)
class Name:
    """A name that must be said: its kind, its words, where it is written, and how it sounds."""

    kind: str
    words: str
    path: Path
    sounds: tuple[Pronunciation, ...]

    def is_near(self, other: "Name") -> bool:
        """Tell whether two names are easily taken for each other."""
        return distance(self.sounds, other.sounds) < TOO_ALIKE


def names(procedure: Procedure) -> tuple[Name, ...]:
    """Give the names that its author gave, each once for every kind of place it can be said in."""
    route = route_through(procedure)
    made = together(route)
    return tuple(
        Name(kind, words, _path(route, kind, words), pronounced(words, procedure.pronounce))
        for kind in KINDS
        for words in dict.fromkeys(names_of(route).get(kind, ()))
        if words not in made
    )


def name_findings(procedure: Procedure) -> Iterator[Weighed]:
    """Find the names that are too alike, or too like a command; as advice those short, or whose sound is a guess."""
    mine = names(procedure)
    confusable = (*_alike(procedure, mine), *_like_commands(mine), *_are_commands(mine))
    yield from ((found, "finding") for found in confusable)
    yield from ((found, "advice") for found in (*_short(mine), *_guessed(mine)))


def _alike(procedure: Procedure, mine: Sequence[Name]) -> Iterator[Finding]:
    told: set[frozenset[str]] = set()
    for one, other in combinations(mine, 2):
        pair = frozenset({one.words, other.words})
        if one.kind == other.kind and pair not in told and one.is_near(other):
            told.add(pair)
            what = f"{one.words!r} and {other.words!r} sound too alike to be told apart"
            yield Finding(path=other.path, what=what, do=_better(procedure, other, mine))


def _like_commands(mine: Sequence[Name]) -> Iterator[Finding]:
    people = [name for name in mine if name.kind == "person"]
    phrases = (load_grammar("person").phrases(_MOST_PHRASES) or ()) if people else ()
    for name in people:
        near = (words for words in phrases if distance(name.sounds, pronounced(words)) < TOO_ALIKE)
        if words := next(near, None):
            what = f"{name.words!r} sounds too much like {words!r}, which can be said in its place"
            yield Finding(path=name.path, what=what, do=_FAMILY)


def _are_commands(mine: Sequence[Name]) -> Iterator[Finding]:
    """Find names that mean something else already: with them, one cannot know which was meant."""
    spoken = [name for name in mine if name.kind not in {"person", "told"}]
    meant = set(load_grammar("tighten").phrases(_MOST_COMMANDS) or ()) if spoken else set()
    seen: set[str] = set()
    for name in spoken:
        if name.words not in seen and " ".join(words_of(name.words)) in meant:
            seen.add(name.words)
            what = f"{name.words!r} is a command already, and cannot be a name as well"
            yield Finding(path=name.path, what=what, do="add its place or its part to the name")


def _short(mine: Sequence[Name]) -> Iterator[Finding]:
    seen: set[str] = set()
    for name in mine:
        sounds = [sound for word in name.sounds for sound in word.sounds]
        if syllables(sounds) <= 1 and len(sounds) <= SHORT_SOUNDS and name.words not in seen:
            seen.add(name.words)
            what = f"{name.words!r} is too short to be heard well in noise"
            yield Finding(
                path=name.path, what=what, do="add a word that tells more, such as its place or its part"
            )


def _guessed(mine: Sequence[Name]) -> Iterator[Finding]:
    guesses = {word.word: (word, name) for name in mine for word in name.sounds if word.source == "guess"}
    for word, name in guesses.values():
        said = " ".join(word.sounds)
        what = f"no dictionary has {word.word!r}; it is taken to sound like {said}, which is a guess"
        yield Finding(
            path=name.path,
            what=what,
            do=f"write pronounce: {{{word.word}: {said}}}, mended where it is wrong",
        )


def _better(procedure: Procedure, name: Name, mine: Sequence[Name]) -> str:
    """Propose the name with a word before it, from the procedure's own, that takes it farthest from all others."""
    if name.kind == "person":
        return _FAMILY
    if not (better := longer_names(procedure, name, mine)):
        return "rename one; no better name was found in its own words, so add its place or its part"
    return f"call it {better[0]!r}, or rename one otherwise"


def longer_names(procedure: Procedure, name: Name, mine: Sequence[Name]) -> tuple[str, ...]:
    """Give the name with a word of its steps before it, far enough from all others, that farthest away first."""
    others = [other for other in mine if other.kind == name.kind and other.words != name.words]
    tried = dict.fromkeys(f"{word} {name.words}" for word in _telling_words(procedure, name))
    rooms = sorted(((_room(words, others, procedure), words) for words in tried), reverse=True)
    return tuple(words for room, words in rooms if room >= TOO_ALIKE)


def _room(words: str, others: Sequence[Name], procedure: Procedure) -> float:
    sounds = pronounced(words, procedure.pronounce)
    return min((distance(sounds, other.sounds) for other in others), default=1.0)


def _telling_words(procedure: Procedure, name: Name) -> Iterator[str]:
    """Give the words of the steps that have to do with a name, in so far as they are known and not in it already."""
    has = {_singular(word) for word in words_of(name.words)}
    for step in procedure.steps:
        if name.words in _named_by(procedure, step):
            words = (word for word in step.step.split("-") if _singular(word) not in has)
            yield from sorted(word for word in words if len(word) >= _SHORTEST_WORD and word in dictionary())


def _singular(word: str) -> str:
    return word.removesuffix("s")


def _named_by(procedure: Procedure, step: Step) -> set[str]:
    group = {procedure.groups[step.tighten.group].spoken} if step.tighten else set()
    value = {step.value.name} if step.value else set()
    return group | value | {*step.use, *step.put_in, *step.take_out, *step.take_off, *step.put_back}


def _path(route: Route, kind: str, words: str) -> Path:
    """Give where a name is written, as a path of keys."""
    procedure = route.procedure
    places: Mapping[str, Callable[[], Iterator[Path]]] = {
        "person": lambda: iter([("people", procedure.people.index(words))]),
        "value": lambda: _of_step(procedure, "name", lambda step: step.step == route.givers.get(words)),
        "supply": lambda: _of_supply(procedure, words),
        "told": lambda: _of_answer(procedure, words),
    }
    return next(places.get(kind, lambda: _of_thing(procedure, words))(), ())


def _of_step(procedure: Procedure, key: str, is_it: Callable[[Step], bool]) -> Iterator[Path]:
    for number, step in enumerate(procedure.steps):
        if is_it(step):
            yield ("steps", number, key) if key == "apply" else ("steps", number, step.action, key)


def _of_supply(procedure: Procedure, words: str) -> Iterator[Path]:
    for name, part in procedure.parts.items():
        if any(supply.what == words for supply in part.apply):
            yield ("parts", name, "apply")
    yield from _of_step(procedure, "apply", lambda step: any(each.what == words for each in step.apply))


def _of_answer(procedure: Procedure, words: str) -> Iterator[Path]:
    for name, part in procedure.parts.items():
        for field, question in part.questions.items():
            if words in question.answers:
                yield ("parts", name, field)


def _of_thing(procedure: Procedure, words: str) -> Iterator[Path]:
    for key, group in procedure.groups.items():
        if group.spoken == words:
            yield ("groups", key)
    for section in ("parts", "tools"):
        if words in getattr(procedure, section):
            yield (section, words)
