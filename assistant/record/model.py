"""What a record says, as frozen models: the JSON file is this, and the HTML page shows it."""

from collections.abc import Mapping
from typing import Final, Literal

from assistant.job.events import Ending, Matter, Verdict
from assistant.record.base import Recorded, Time
from assistant.record.done_over import DoneOver
from assistant.record.thing_rows import Part, Removed, Tool
from assistant.torque.ledger import PositionRecord
from assistant.torque.plan import End
from assistant.torque.stages import Kind
from assistant.torque.units import Quantity

FIRST_RULE: Final = "The maker's manual and local rules come first."
"""What stands at the top of every record."""

DEMONSTRATION: Final = (
    "This is a demonstration. What is worked on, its parts and every value are invented;"
    " they are not for any real work."
)
"""What stands beside it where the procedure is a demonstration."""


class Head(Recorded):
    """Which job, who worked on it, how it stands; `ended` is the last entry, `closed_with` was open at its close.

    `zone` is that of all times: the clock where the job began, as "UTC+02:00".
    """

    job: str
    machine: str
    people: tuple[str, ...]
    procedure: str
    revision: int
    route: str
    about: str
    began: Time
    zone: str = "UTC"
    ended: Time
    closed: Time | None
    close_reason: str
    closed_by: str
    closed_with: tuple[str, ...]
    paused: bool
    steps_done: int
    steps_total: int


class Open(Recorded):
    """One open item, in words; `number` is its step's, from 1."""

    kind: str
    number: int
    step: str
    what: str
    detail: str = ""


class StepRow(Recorded):
    """One step: how it stands; the question it asks, if any, the last answer, and who has seen it.

    A suspect one was done and rests on something that was opened since; a decision makes one not needed.
    """

    number: int
    step: str
    say: str
    standing: Literal["done", "left out", "open", "suspect", "not needed"]
    at: Time | None
    reason: str = ""
    question: str = ""
    answer: Literal["", "yes", "no"] = ""
    seen_by: str = ""


class Work(Recorded):
    """One act at one position; `stage` and `round` count from 1; `wrench` was set to `setting`.

    One with `done_over` no longer counts; if it was done again, that is another act after it.
    """

    stage: int
    round: int
    kind: Kind
    value: Quantity | None
    until: Quantity | Literal["seated"] | None
    in_order: bool
    wrench: str
    setting: Quantity | None
    at: Time
    done_over: DoneOver | None = None


class Wrench(Recorded):
    """A torque wrench of the shop's list as it was then; `acts` is how often this job used it."""

    name: str
    spoken: str
    least: Quantity
    most: Quantity
    resolution: Quantity
    deviation: Quantity
    calibrated: str
    remark: str
    acts: int


class Position(Recorded):
    """One position: how it stands, and every act that led there.

    `final` is what its last stage left: a torque, an angle, a torque and the angle after it, or a word such as
    "hand-tight"; empty where the position is not final.
    """

    position: int
    state: PositionRecord
    final: tuple[End, ...]
    length: Quantity | None
    works: tuple[Work, ...]


class Group(Recorded):
    """A fastener group; `stages` are its stages in words, the first being stage 1."""

    name: str
    title: str
    thread: str
    property_class: str
    condition: str
    left_hand: bool
    retorque_after_heat: bool
    order: tuple[int, ...]
    stages: tuple[str, ...]
    positions: tuple[Position, ...]
    final: int


class Measurement(Recorded):
    """One value, measured or worked out; `stands` is false where the same was taken again later.

    Of several `readings` the value is the mean, with their `spread` and standard `deviation`. One that was
    worked out has its `formula` and `inputs`, and where a size was chosen that and what it `leaves`; it is
    `stale` where an input has changed since. The verdict is of `leaves` where there is one.
    """

    number: int
    step: str
    what: str
    value: Quantity
    least: Quantity | None
    most: Quantity | None
    gauge: Quantity | None
    verdict: Verdict
    accepted: str
    stands: bool
    at: Time
    readings: tuple[Quantity, ...] = ()
    spread: Quantity | None = None
    deviation: Quantity | None = None
    formula: str = ""
    inputs: Mapping[str, Quantity] = {}
    size: Quantity | None = None
    leaves: Quantity | None = None
    leaves_what: str = ""
    stale: bool = False


class _Kept(Recorded):
    """What lies beside the journal; `present` is false where the file is lost, `sha256` is that of the file."""

    number: int
    step: str
    say: str
    about: str
    file: str
    at: Time
    present: bool = True
    sha256: str = ""


class Note(_Kept):
    """A spoken note; `seconds` is null while it is being spoken.

    `text` was written by an engine, and is `rough` where that guesses, or `corrected` by a person.
    """

    note: int
    matter: Matter
    seconds: float | None
    ended_by: Ending | None
    text: str
    written_by: str
    rough: bool
    corrected: bool


class Picture(_Kept):
    """A picture."""

    picture: int


class Departure(Recorded):
    """Something done otherwise than written, with the reason that was given, and by whom where that is known."""

    number: int
    step: str
    what: str
    reason: str
    by: str
    at: Time


class Wait(Recorded):
    """A waiting time of `seconds`; `how` it ended, with `left_s` seconds left where it was cut short."""

    number: int
    step: str
    seconds: float
    began: Time
    ended: Time | None
    how: Literal["running", "waited out", "cut short"]
    left_s: float
    test: str
    answer: Literal["", "yes", "no"]


class Span(Recorded):
    """A stretch of time: the reading at one step, a pause, or the program not running ("away")."""

    what: Literal["step", "paused", "away"]
    number: int
    began: Time
    ended: Time


class Seal(Recorded):
    """Which journal a record was made from: how many entries it had, and the hash of the last."""

    entries: int
    hash: str


class Talk(Recorded):
    """How many utterances were acted on, asked for again, let pass as talk or noise, and taken back.

    `sound_kept` is of how many refused ones the sound was kept, because that was asked for.
    """

    heard: int
    asked_again: int
    let_pass: int
    taken_back: int
    sound_kept: int = 0


class Moment(Recorded):
    """One line of the time line, in plain words; `until` is the last of several of a kind.

    `said` is what the mechanic had said; what was taken back later stays, and says so.
    """

    at: Time
    until: Time | None
    what: str
    said: tuple[str, ...]
    taken_back: bool


class Record(Recorded):
    """The record of one job. The same entries always give the same one."""

    format: Literal[2] = 2
    journal: Seal
    first_rule: str = FIRST_RULE
    demonstration: bool
    demonstration_words: str
    head: Head
    open_items: tuple[Open, ...]
    cautions: tuple[str, ...]
    steps: tuple[StepRow, ...]
    wrenches: tuple[Wrench, ...]
    groups: tuple[Group, ...]
    measurements: tuple[Measurement, ...]
    notes: tuple[Note, ...]
    pictures: tuple[Picture, ...]
    departures: tuple[Departure, ...]
    parts: tuple[Part, ...]
    tools: tuple[Tool, ...]
    removed: tuple[Removed, ...]
    waits: tuple[Wait, ...]
    talk: Talk
    spans: tuple[Span, ...]
    time_line: tuple[Moment, ...]
