"""One turn of the talk while it is being worked out: events are folded in as they are recorded."""

from collections.abc import Callable, Mapping
from datetime import datetime

from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Effect, Line, PlayNote, Reply, Slot, Tone
from assistant.job.events import Asked, Entry, Event, QuestionClosed
from assistant.job.fold import fold
from assistant.job.state import JobState
from assistant.procedure.model import Step
from assistant.procedure.route import Route


class Turn:
    """Collects the events and the reply of one turn; `state` is always the fold of them all.

    It lives for one call of `manager.handle` and is never seen outside the dialogue. `passing` marks
    a reply that "repeat" does not bring back; `must_ask` has the pending question put again. `follows` is the
    command that follows in the same breath, and `then` the same if a question may keep it for after its answer.
    `came_of` is the turn that a question asked now came of, where that is an earlier one.
    """

    def __init__(self, route: Route, state: JobState, now: datetime) -> None:
        self.route = route
        self.now = now
        self.state = state
        self.number = state.turn + 1
        self.events: list[Event] = []
        self.passing = False
        self.must_ask = False
        self.then = ""
        self.follows = ""
        self.came_of: int | None = None
        self._parts: list[Line | PlayNote] = []
        self._tone: Tone | None = None
        self._effects: list[Effect] = []

    @property
    def step(self) -> Step:
        """The step that the reading is at."""
        return self.route.step(self.state.at or self.route.steps[0].step)

    @property
    def has_spoken(self) -> bool:
        """Whether something was said in this turn already: of this command, or of one before it in the same breath."""
        return bool(self._parts)

    def step_number(self, name: str) -> int:
        """Give the number by which a step is spoken of, from 1."""
        return self.route.place(name) + 1

    def record(self, *events: Event) -> None:
        """Record events, and fold them into the state at once."""
        for event in events:
            self.events.append(event)
            entry = Entry(seq=self.state.seq + 1, turn=self.number, at=self.now, event=event)
            self.state = fold(self.state, entry)

    def say(self, key: str, **slots: Slot) -> None:
        """Add a line to the reply; none is said twice in one breath."""
        line = Line(key, slots)
        if line not in self._parts:
            self._parts.append(line)

    def add(self, part: Line | PlayNote) -> None:
        """Add a line that was made elsewhere, or a note to be played."""
        self._parts.append(part)

    def add_first(self, line: Line) -> None:
        """Put a line before all that was said in this turn: it must not wait."""
        self._parts.insert(0, line)

    def tone(self, tone: Tone) -> None:
        """Set the tone that comes before the words; the last one counts."""
        self._tone = tone

    def effect(self, effect: Effect) -> None:
        """Have a door do something."""
        self._effects.append(effect)

    def ask(self, question: str, about: Mapping[str, str] | None = None) -> None:
        """Make a question pending; its words come from `questions`, now and whenever it is asked again."""
        kept = {"then": self.then} if self.then else {}
        self.record(Asked(question=question, about={**(about or {}), **kept}, came_of=self.came_of))

    def close_question(self, answer: str) -> None:
        """End the pending question."""
        self.record(QuestionClosed(answer=answer))

    def reply(self) -> Reply:
        """Give the reply as collected so far."""
        return Reply(
            parts=tuple(self._parts), tone=self._tone, effects=tuple(self._effects), passing=self.passing
        )


Handler = Callable[[Turn, Intent], None]
"""Works out what one intent does in a turn."""
