"""Reads and plays a talk: what a mechanic says, what must be answered and recorded.

    procedure: generator-set-head        (one that travels with the program, or lies in bench/)
    route: short
    shop: shop                           (the wrenches of a file in bench/)
    > done, next                         the mechanic says
    Step one is done. Step two. …        the assistant must answer so (… stands for anything)
    ! step-done                          these kinds of events must be recorded, in this order
    (46 minutes later)                   time passes
    (the program is started again)       the job is taken up from its journal

Lines from # on are for the reader. No answer that was not asked for may be long.
The words go through the grammar that is active, as typed ones do.
"""

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from assistant.dialogue.intents import Intent
from assistant.dialogue.manager import handle
from assistant.dialogue.modes import modes_of
from assistant.dialogue.names import names_of
from assistant.dialogue.phrasing import load_phrasebook
from assistant.hearing.grammar import Grammar, load_grammar, words_of
from assistant.job.events import Event, Heard, JobOpened, Refused, Replied
from assistant.job.fold import fold, replay
from assistant.job.memory import MemoryStore
from assistant.job.state import JobState
from assistant.procedure.load import find_procedure, load_procedure
from assistant.procedure.route import Route, route_through
from assistant.torque.units import read_quantity
from assistant.torque.wrench import Shop
from assistant.work.shop import parse_shop
from tests.dialogue.asked_for import ASKED_FOR, MOST_WORDS

NOT_TOLD = {
    "heard",
    "replied",
    "refused",
    "asked",
    "question-closed",
    "step-reached",
    "caution-given",
    "job-opened",
}
"""Kinds of events that a talk need not list."""

PHRASEBOOK = load_phrasebook()


@dataclass
class Talk:
    """One talk under way: a route, a store, and what the last turn came to."""

    route: Route
    store: MemoryStore = field(default_factory=MemoryStore)
    state: JobState = field(default_factory=JobState)
    now: datetime = datetime(2026, 3, 2, 8, tzinfo=UTC)
    answer: str = ""
    recorded: list[str] = field(default_factory=list)
    _grammars: dict[str, Grammar] = field(default_factory=dict)

    def open(self) -> None:
        """Begin the job."""
        opened = JobOpened(job="talk", procedure="talk", revision=1, route=self.route.name)
        self.turn((Intent(name="opened"),), opened)

    def say(self, words: str) -> None:
        """Let the mechanic say something."""
        self.now += timedelta(seconds=10)
        matches = (self._grammar(mode).match(words_of(words)) for mode in modes_of(self.route, self.state))
        match = next(filter(None, matches), None)
        if match is None:
            self.turn((Intent(name="not-understood"),), Refused(words=words))
        else:
            names = tuple(intent.name for intent in match.intents)
            self.turn(match.intents, Heard(words=words, intents=names))

    def _grammar(self, mode: str) -> Grammar:
        return self._grammars.setdefault(mode, load_grammar(mode, names_of(self.route)))

    def later(self, seconds: float) -> None:
        """Let time pass."""
        self.now += timedelta(seconds=seconds)
        self.turn((Intent(name="tick"),))

    def start_again(self) -> None:
        """Forget the state, and take the job up from the store."""
        self.state = replay(self.store.entries())
        self.turn((Intent(name="returned"),))

    def turn(self, intents: tuple[Intent, ...], first: Heard | Refused | JobOpened | None = None) -> None:
        """Work one turn out, and keep it."""
        outcome = handle(self.route, self.state, intents, self.now, heard=first)
        self.answer = PHRASEBOOK.sentences(outcome.reply)
        asked_for = ASKED_FOR & {intent.name for intent in intents}
        assert asked_for or len(self.answer.split()) <= MOST_WORDS, f"too long: {self.answer}"
        said: tuple[Event, ...] = (
            (Replied(words=self.answer, passing=outcome.reply.passing),) if self.answer else ()
        )
        events = (*outcome.events, *said)
        for entry in self.store.append(self.state.turn + 1, self.now, events) if events else ():
            self.state = fold(self.state, entry)
        self.recorded = [event.kind for event in outcome.events if event.kind not in NOT_TOLD]


def play(path: Path) -> Talk:
    """Play a talk file; fails on the first line that does not hold."""
    lines = [line.split("#")[0].rstrip() for line in path.read_text().splitlines()]
    head = dict(line.split(": ", 1) for line in lines[:3] if re.match(r"(procedure|route|shop): ", line))
    talk = Talk(_route(head, path.parent / "bench"))
    talk.open()
    for number, line in enumerate(lines[len(head) :], start=len(head) + 1):
        if line:
            _line(talk, line, f"{path.name}, line {number}")
    return talk


def _route(head: dict[str, str], bench: Path) -> Route:
    own = bench / f"{head['procedure']}.yaml"
    procedure = load_procedure(own if own.exists() else find_procedure(head["procedure"]))
    tools = bench / f"{head['shop']}.yaml" if "shop" in head else None
    shop = parse_shop(tools.read_text(), name=tools.name) if tools else Shop()
    return route_through(procedure, head.get("route", ""), shop)


def _line(talk: Talk, line: str, where: str) -> None:
    if line.startswith("> "):
        talk.say(line[2:])
    elif line.startswith("! "):
        wanted = line[2:].split(", ") if line[2:] != "nothing" else []
        assert talk.recorded == wanted, f"{where}: recorded {talk.recorded}, not {wanted}"
    elif later := re.fullmatch(r"\((.+) later\)", line):
        talk.later(float(read_quantity(later[1], "time").exact("s")))
    elif line == "(the program is started again)":
        talk.start_again()
    else:
        pattern = re.escape(line).replace("…", ".*")
        assert re.fullmatch(pattern, talk.answer), (
            f"{where}:\n  answered {talk.answer!r}\n  wanted   {line!r}"
        )
