"""What is known of a job at one moment, as frozen models; `job.fold` makes them from events."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from assistant.job.events import Ending, Event, Matter, Measured, PartReused, WorkedOut
from assistant.job.names import Names
from assistant.torque.ledger import PositionRecord
from assistant.torque.units import Quantity


@dataclass(frozen=True, kw_only=True)
class Timer:
    """A waiting time: when it began and how long it is, in seconds; how it ended."""

    began: datetime
    seconds: float
    told: bool = False
    cut_short_s: float = 0.0

    @property
    def ends(self) -> datetime:
        """When the time is up."""
        return self.began + timedelta(seconds=self.seconds)

    @property
    def running(self) -> bool:
        """Whether it is neither over nor stopped."""
        return not self.told and not self.cut_short_s

    def left_s(self, now: datetime) -> float:
        """Give the seconds that are left, never below 0."""
        return max(0.0, (self.ends - now).total_seconds())


@dataclass(frozen=True, kw_only=True)
class Kept:
    """What is kept beside the journal: its number, its file, where and when it was made, what it is about."""

    number: int
    file: str
    step: str
    at: datetime
    group: str = ""
    position: int | None = None
    part: str = ""
    label: str = ""


@dataclass(frozen=True, kw_only=True)
class Note(Kept):
    """A note, and its text where there is one; `written_by` is an engine's name or a person's.

    Of a `typed` one the text is all that there is, also after it was corrected.
    """

    matter: Matter = "note"
    seconds: float | None = None
    ended_by: Ending | None = None
    text: str = ""
    written_by: str = ""
    rough: bool = False
    corrected: bool = False
    typed: bool = False


@dataclass(frozen=True, kw_only=True)
class Listing:
    """The notes that are being played one by one, by their numbers, the place among them, the part, and the pace."""

    notes: tuple[int, ...]
    place: int
    part: int = 0
    pace: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Laid:
    """A part that is off: at which step and when it came off, where it lies, what was told of it."""

    step: str
    at: datetime
    place: str = ""
    told: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Question:
    """What was asked and waits for an answer, what it is about, and the turn that it came of."""

    name: str
    about: Mapping[str, str]
    turn: int = 0


@dataclass(frozen=True, kw_only=True)
class Departure:
    """Something done otherwise than written, with the reason that was given."""

    step: str
    what: str
    reason: str
    at: datetime
    by: str = ""


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How quickly the steps of this job go: the time of those that were done, and since when the next one runs."""

    seconds: float = 0.0
    steps: int = 0
    since: datetime | None = None

    @property
    def a_step_s(self) -> float:
        """Give the mean time of a step, 0 where none is done yet."""
        return self.seconds / self.steps if self.steps else 0.0


@dataclass(frozen=True, kw_only=True)
class Past:
    """The state before a turn that recorded something, and the events of that turn."""

    turn: int
    state: "JobState"
    events: tuple[Event, ...]


@dataclass(frozen=True, kw_only=True)
class JobState:
    """Everything that is known of a job; a new job is `JobState()`.

    `misses` counts what was asked for again, in a row; `let_be` the talk, in a row, that answered no pending question.

    `counted` says how often a part was used, or a tool went in or out, at a step; `off` are the parts that
    are off, `applied` the supplies that were put on, each with its step; `torque_told` is the group whose torque was
    told just before.
    """

    job: str = ""
    machine: str = ""
    route: str = ""
    who: str = ""
    turn: int = 0
    seq: int = 0
    began: datetime | None = None
    last_at: datetime | None = None
    progress: Progress = Progress()
    at: str = ""
    done: Names = field(default_factory=Names)
    skipped: Mapping[str, str] = field(default_factory=dict)
    cautions_acknowledged: frozenset[str] = frozenset()
    checks: Mapping[str, bool] = field(default_factory=dict)
    seen_by: Mapping[str, str] = field(default_factory=dict)
    decisions: Mapping[str, bool] = field(default_factory=dict)
    suspect: Mapping[str, str] = field(default_factory=dict)
    worked_before: frozenset[str] = frozenset()
    helping: str = ""
    accepted_open: Mapping[str, str] = field(default_factory=dict)
    closing: bool = False
    ledger: Mapping[tuple[str, int], PositionRecord] = field(default_factory=dict)
    acts: Mapping[str, frozenset[int]] = field(default_factory=dict)
    turned: Mapping[str, int] = field(default_factory=dict)
    calibrations_told: frozenset[str] = frozenset()
    torque_told: str = ""
    laid_aside: frozenset[str] = frozenset()
    measured: Mapping[str, Measured] = field(default_factory=dict)
    worked: Mapping[str, WorkedOut] = field(default_factory=dict)
    readings: Mapping[str, tuple[Quantity, ...]] = field(default_factory=dict)
    last_value: str = ""
    accepted: frozenset[str] = frozenset()
    parts: Mapping[str, int] = field(default_factory=dict)
    reused: tuple[PartReused, ...] = ()
    counted: Mapping[tuple[str, str, str], int] = field(default_factory=dict)
    inside: Mapping[str, int] = field(default_factory=dict)
    off: Mapping[str, Laid] = field(default_factory=dict)
    returned: frozenset[str] = frozenset()
    labels: frozenset[str] = frozenset()
    applied: frozenset[tuple[str, str]] = frozenset()
    timers: Mapping[str, Timer] = field(default_factory=dict)
    notes: tuple[Note, ...] = ()
    listing: Listing | None = None
    pictures: tuple[Kept, ...] = ()
    departures: tuple[Departure, ...] = ()
    question: Question | None = None
    paused: bool = False
    closed: bool = False
    revision_answered: int = 0
    loudness: float = 1.0
    pace: float = 1.0
    last_reply: str = ""
    misses: int = 0
    let_be: int = 0
    refused: int = 0
    pasts: tuple[Past, ...] = ()

    @property
    def open_note(self) -> Note | None:
        """The note that is being recorded, if one is."""
        return self.notes[-1] if self.notes and self.notes[-1].seconds is None else None
