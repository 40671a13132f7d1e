"""What a simulated mechanic goes by, and what comes of it: a moment of the job, dice, and something said."""

import random
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from assistant.hearing.grammar import Grammar, words_of
from assistant.job.state import JobState
from assistant.job.way import next_step
from assistant.procedure.model import Step
from assistant.procedure.route import Route
from assistant.torque.plan import Act

Why = Literal["work", "mistake", "between", "at a loss"]
"""Why something is said: the job wants it, it is a slip, it comes in between, or nothing else helped."""


@dataclass(frozen=True)
class Move:
    """What the mechanic does next: lets `after_s` seconds pass, and then says something, or nothing."""

    words: str
    why: Why = "work"
    after_s: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Scene:
    """One moment: where the job stands, what can be said, what time it is, and which walk this is."""

    route: Route
    state: JobState
    grammar: Grammar
    now: datetime
    walk: int = 0

    @property
    def step(self) -> Step:
        """The step that the reading is at."""
        return self.route.step(self.state.at or self.route.steps[0].step)

    @property
    def about(self) -> Mapping[str, str]:
        """What the pending question is about."""
        return self.state.question.about if self.state.question else {}

    def can_say(self, words: str) -> bool:
        """Tell whether the active grammar takes it."""
        return self.grammar.match(words_of(words)) is not None

    def acts_left(self) -> tuple[Act, ...]:
        """Give what is left to tighten at this step, in order."""
        step = self.step
        if step.tighten is None:
            return ()
        done = self.state.acts.get(step.tighten.group, frozenset())
        return tuple(act for number, act in self.route.acts(step) if number not in done)

    def wait_s(self) -> float:
        """Give the seconds until a waiting time is over, where nothing can be done meanwhile; else 0."""
        running = [timer.left_s(self.now) for timer in self.state.timers.values() if timer.running]
        elsewhere = next_step(self.route, self.state, self.step.step)
        return 0.0 if elsewhere or not running else min(running) + 1


@dataclass
class Dice:
    """Chance, from a seed, and what the mechanic keeps in mind.

    `slipped` holds the steps at which a wrong number was just said, `anew` those to be measured once more,
    `sent_back` the open things that were gone back to; `tried` counts how often a step was gone back from.
    """

    rng: random.Random
    mistakes: float
    slipped: set[str] = field(default_factory=set)
    anew: set[str] = field(default_factory=set)
    sent_back: set[object] = field(default_factory=set)
    tried: Counter[str] = field(default_factory=Counter)
    _thrown: set[str] = field(default_factory=set)

    def falls(self, share: float) -> bool:
        """Tell whether what happens so often happens now."""
        return self.rng.random() < share

    def once(self, what: str, share: float) -> bool:
        """Tell whether what may happen a single time happens now."""
        if what in self._thrown or not self.falls(share):
            return False
        self._thrown.add(what)
        return True
