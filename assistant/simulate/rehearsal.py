"""A rehearsal: a simulated mechanic walks a procedure from its opening to its closed job, and what went how is kept.

The job runs through the conductor, in a folder that is thrown away afterwards. How a saying reaches it is the
door's business: typed without sound, or spoken against noise and really recognised.
"""

import random
import re
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.phrasing import load_phrasebook
from assistant.dialogue.reply import Reply
from assistant.hearing.grammar import words_of
from assistant.hearing.recogniser import Recognised
from assistant.job.closeout import OpenItem, open_items
from assistant.job.events import Entry
from assistant.job.folder import JobFolder
from assistant.job.state import JobState
from assistant.procedure.route import Route
from assistant.simulate.door import WORDS_A_SECOND, Door
from assistant.simulate.mechanic import same_meaning, way_back
from assistant.simulate.scene import Move, Scene
from assistant.simulate.worker import Habits, Worker
from assistant.speaking.mouth import NoMouth
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor

_BEGAN: Final = datetime(2026, 1, 5, 8, tzinfo=UTC)
_LOST, _GIVES_UP, _STUCK = 12, 18, 40
"""After so many sayings that led nowhere, anything is tried; the step is left out; the walk is given up."""

_NOT_HEARD: Final = 12
_BACK: Final = 4
"""How often in a row something may not be heard; how many words are spent on taking one mishearing back."""

_LONGEST_WALK: Final = 20_000


@dataclass(frozen=True)
class Misheard:
    """A saying that was not taken for what it was; `heard` is "" where it was asked for again or let be."""

    step: str
    said: str
    heard: str


@dataclass(frozen=True)
class Spoken:
    """One answer of the assistant: where, to what, its words, and how long they take."""

    step: str
    to: str
    words: str

    @property
    def seconds(self) -> float:
        """How long it takes to say."""
        return len(self.words.split()) / WORDS_A_SECOND

    @property
    def sentences(self) -> int:
        """How many sentences it has."""
        return len(re.findall(r"[.?!](?:\s|$)", self.words))


Watch = Callable[[Spoken], None]
"""Is told of each answer as it comes."""


@dataclass(frozen=True, kw_only=True)
class Walked:
    """What one walk came to. `stuck` says why it did not get to a closed job; `lost` where nothing helped."""

    route: str
    walk: int
    seed: int
    closed: bool
    stuck: str
    seconds: float
    sayings: int
    mistakes: int
    reached: frozenset[str]
    done: frozenset[str]
    decisions: Mapping[str, bool]
    lost: Mapping[str, str]
    misheard: tuple[Misheard, ...]
    left_open: tuple[OpenItem, ...]
    replies: tuple[Spoken, ...]


@dataclass
class _Onlooker:
    """Keeps what the assistant answers."""

    words: list[str] = field(default_factory=list)

    def hearing(self, words: str) -> None:
        """Take no notice of what is not settled yet."""

    def heard(self, heard: Recognised) -> None:
        """Take no notice; the walk compares it with what was said."""

    def recorded(self, entries: Sequence[Entry]) -> None:
        """Take no notice; the state tells it."""

    def said(self, words: str, _reply: Reply) -> None:
        """Keep an answer."""
        if words:
            self.words.append(words)


@dataclass
class _Walk:
    """One walk under way."""

    route: Route
    conductor: Conductor
    clock: MovedClock
    door: Door
    worker: Worker
    number: int
    onlooker: _Onlooker
    watch: Watch
    replies: list[Spoken] = field(default_factory=list)
    misheard: list[Misheard] = field(default_factory=list)
    reached: set[str] = field(default_factory=set)
    lost: dict[str, str] = field(default_factory=dict)
    left_open: tuple[OpenItem, ...] = ()
    stuck: str = ""
    sayings: int = 0
    mistakes: int = 0
    _seen: set[object] = field(default_factory=set)
    _idle: int = 0
    _unheard: int = 0

    def go(self) -> None:
        """Walk until the job is closed, or nothing leads on."""
        self.conductor.begin()
        self._listen("")
        while not self.conductor.state.closed and not self.stuck:
            self._look()
            self._step()

    @property
    def _state(self) -> JobState:
        return self.conductor.state

    def _scene(self) -> Scene:
        return Scene(
            route=self.route,
            state=self._state,
            grammar=self.conductor.grammar(),
            now=self.clock.now(),
            walk=self.number,
        )

    def _look(self) -> None:
        """See whether the last saying led anywhere the walk has not been."""
        mark = _mark(self._state)
        if self._unheard == 0:  # else it was not the job that led nowhere
            self._idle = self._idle + 1 if mark in self._seen else 0
        self._seen.add(mark)
        self.reached |= {self._state.at} - {""}
        self.left_open = open_items(self.route, self._state)
        last = self.replies[-1].words if self.replies else ""
        if self._unheard >= _NOT_HEARD:
            self.stuck = f"{self.misheard[-1].said!r} was not heard {self._unheard} times in a row"
        elif self._idle >= _STUCK or self.sayings >= _LONGEST_WALK:
            self.stuck = f"nothing leads on; the last answer was {last!r}"
        if self._idle == _LOST:
            self.lost[self._state.at] = last

    def _step(self) -> None:
        """Have the mechanic do one thing."""
        if self._idle < _LOST:
            move = self.worker.move(self._scene())
        else:
            move = self.worker.at_a_loss(self._scene(), give_up=self._idle >= _GIVES_UP)
        question = self._state.question
        self.clock.pass_time(move.after_s)
        self.conductor.tick()
        self._listen("(time passes)")
        if move.words and self._state.question is question:
            self._say(move)

    def _say(self, move: Move) -> None:
        """Say something, see what was made of it, and take back what was misheard."""
        self.sayings += 1
        self.mistakes += move.why == "mistake"
        before, wanted = self._state, self.conductor.grammar().match(words_of(move.words))
        got = self._hear(move.words)
        if wanted is None or same_meaning(got, wanted.intents):
            self._unheard = 0
            return
        heard = " + ".join(_named(intent) for intent in got)
        self.misheard.append(Misheard(before.at, move.words, heard))
        self._unheard += 1
        for _ in range(_BACK if got else 0):
            if back := way_back(before, self._state):
                self._hear(back)

    def _hear(self, words: str) -> tuple[Intent, ...]:
        heard = self.door.hear(self.conductor, self.clock, words)
        self._listen(words)
        return tuple(intent for each in heard if each.accepted for intent in each.intents)

    def _listen(self, to: str) -> None:
        """Listen to the answers, as long as they take."""
        for words in self.onlooker.words:
            spoken = Spoken(self._state.at, to, words)
            self.clock.pass_time(spoken.seconds)
            self.replies.append(spoken)
            self.watch(spoken)
        self.onlooker.words.clear()


def _named(intent: Intent) -> str:
    return " ".join((intent.name, *intent.slots.values()))


def _mark(state: JobState) -> object:
    """Give what tells one place of a job from another, in so far as it leads on."""
    question = state.question and (state.question.name, tuple(sorted(state.question.about.items())))
    steps = (state.at, state.done, frozenset(state.skipped), frozenset(state.suspect), state.worked_before)
    counted = ((name, len(readings)) for name, readings in state.readings.items())
    measured = frozenset((name, str(found.value)) for name, found in state.measured.items())
    values = (measured, frozenset(state.worked), state.accepted, frozenset(counted))
    turned = (frozenset(state.acts.items()), frozenset(state.turned.items()))
    timers = frozenset((name, timer.told) for name, timer in state.timers.items())
    flags = (state.cautions_acknowledged, state.helping, state.closing, frozenset(state.accepted_open))
    return (question, steps, values, turned, timers, flags, state.closed)


def walk(
    route: Route,
    text: str,
    door: Door,
    *,
    number: int,
    seed: int,
    habits: Habits | None = None,
    watch: Watch = lambda _spoken: None,
) -> Walked:
    """Walk a route once; `text` is its procedure's. Equal arguments give an equal walk; `watch` sees each answer."""
    rng = random.Random(f"{seed} {number} {route.name}")
    worker = Worker(rng, habits or Habits(pace=rng.uniform(0.7, 1.5)))
    clock, onlooker = MovedClock(_BEGAN), _Onlooker()
    with (
        tempfile.TemporaryDirectory(prefix="callout-rehearsal-") as folder,
        JobFolder.create(Path(folder), "rehearsal", text) as job,
    ):
        conductor = Conductor(
            route, job, mouth=NoMouth(), book=load_phrasebook(), clock=clock, watchers=[onlooker]
        )
        under_way = _Walk(route, conductor, clock, door, worker, number, onlooker, watch)
        under_way.go()
        conductor.close()
    return _walked(under_way, seed)


def _walked(walk: _Walk, seed: int) -> Walked:
    state = walk.conductor.state
    return Walked(
        route=walk.route.name,
        walk=walk.number,
        seed=seed,
        closed=state.closed,
        stuck=walk.stuck,
        seconds=(walk.clock.now() - _BEGAN).total_seconds(),
        sayings=walk.sayings,
        mistakes=walk.mistakes,
        reached=frozenset(walk.reached),
        done=frozenset(state.done),
        decisions=state.decisions,
        lost=walk.lost,
        misheard=tuple(walk.misheard),
        left_open=walk.left_open,
        replies=tuple(walk.replies),
    )
