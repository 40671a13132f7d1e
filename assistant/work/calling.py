"""The name that the assistant is called by, and when it must be: always, or because talk was taken for commands.

A false command shows in what follows it. It is taken back; or what was not understood was not for the
assistant, and nobody says it again. Where such signs come thick, the name is needed until there is calm.
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.hearing.grammar import Grammar, called
from assistant.hearing.recogniser import Recognised

SIGNS: Final = 4
"""So many signs of false commands within TOGETHER make the name needed."""

TOGETHER: Final = timedelta(minutes=10)

WORTH_OF_UNDO: Final = 2
"""What was taken back had been acted on, which is worse than asking for nothing."""

SAID_AGAIN: Final = timedelta(seconds=15)
"""Who was asked to say it again and meant it does so within this time."""

CALM: Final = timedelta(minutes=20)
"""After so long without a sign the name is not needed any more."""


@dataclass(kw_only=True)
class Calling:
    """Knows the name, whether it is needed now, and the signs that make it so.

    Without a `name` it can never be needed.
    """

    name: str = ""
    always: bool = False
    needed: bool = field(default=False, init=False)
    _signs: deque[datetime] = field(default_factory=deque, init=False)
    _asked: datetime | None = field(default=None, init=False)
    _calm_from: datetime | None = field(default=None, init=False)
    _made: dict[tuple[Grammar, bool], Grammar] = field(default_factory=dict, init=False)

    def grammar(self, plain: Grammar, *, may_need: bool = True) -> Grammar:
        """Give a grammar in which the name comes first: it must where it is needed, else it may."""
        if not self.name:
            return plain
        needed = may_need and (self.always or self.needed)
        if (plain, needed) not in self._made:
            self._made[plain, needed] = called(plain, self.name, needed=needed)
        return self._made[plain, needed]

    def took(self, heard: Recognised, at: datetime) -> tuple[Intent, ...]:
        """Look at what was heard for signs; give what is to be said about the name."""
        if heard.accepted:
            self._asked = None
            undone = any(intent.name == "undo" for intent in heard.intents)
            self._add(at, WORTH_OF_UNDO if undone else 0)
        elif heard.asked:
            self._let_pass()
            self._asked = at
        return tuple(self._changes(at))

    def look(self, at: datetime) -> tuple[Intent, ...]:
        """Let time pass; give what is to be said about the name."""
        if self._asked is not None and at - self._asked > SAID_AGAIN:
            self._let_pass()
        return tuple(self._changes(at))

    def _let_pass(self) -> None:
        """Take what was asked for again, and was not said again, for a sign of the time when it was asked."""
        if self._asked is not None:
            self._add(self._asked, 1)
        self._asked = None

    def _add(self, at: datetime, worth: int) -> None:
        self._signs.extend([at] * worth)
        if worth:
            self._calm_from = at

    def _changes(self, at: datetime) -> Iterator[Intent]:
        while self._signs and at - self._signs[0] > TOGETHER:
            self._signs.popleft()
        if not self.name or self.always:
            return
        if not self.needed and len(self._signs) >= SIGNS:
            self.needed = True
            yield Intent(name="name-needed", slots={"name": self.name})
        elif self.needed and self._calm_from is not None and at - self._calm_from >= CALM:
            self.needed = False
            self._signs.clear()
            yield Intent(name="name-free", slots={"name": self.name})
