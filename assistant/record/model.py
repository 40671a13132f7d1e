"""What a record says, as frozen models: the JSON file is this, and the HTML page shows it."""

from datetime import UTC
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, AwareDatetime, BaseModel, ConfigDict

from assistant.job.events import Verdict
from assistant.torque.ledger import PositionRecord
from assistant.torque.stages import Kind
from assistant.torque.units import Quantity

FIRST_RULE: Final = "The maker's manual and local rules come first."
"""What stands at the top of every record."""

DEMONSTRATION: Final = (
    "This is a demonstration. The machine, its parts and every value are invented;"
    " they are not for any real engine."
)
"""What stands beside it where the procedure is a demonstration."""

Time = Annotated[AwareDatetime, AfterValidator(lambda at: at.astimezone(UTC))]
"""A moment, in UTC whatever zone it was given in."""


class _Recorded(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Head(_Recorded):
    """Which job on which procedure, and how it stands; `ended` is the last thing recorded."""

    job: str
    procedure: str
    revision: int
    route: str
    about: str
    began: Time
    ended: Time
    closed: Time | None
    close_reason: str
    paused: bool
    steps_done: int
    steps_total: int


class Open(_Recorded):
    """One open item, in words; `number` is its step's, from 1."""

    kind: str
    number: int
    step: str
    what: str
    detail: str = ""


class StepRow(_Recorded):
    """One step: done, left out or open; the question it asks, if any, and the last answer."""

    number: int
    step: str
    say: str
    standing: Literal["done", "left out", "open"]
    at: Time | None
    reason: str = ""
    question: str = ""
    answer: Literal["", "yes", "no"] = ""


class Work(_Recorded):
    """One act at one position; `stage` and `round` count from 1."""

    stage: int
    round: int
    kind: Kind
    value: Quantity | None
    until: Quantity | Literal["seated"] | None
    in_order: bool
    at: Time


class Position(_Recorded):
    """One position: how it stands, and every act that led there.

    `final` is what it was finished with: a torque, an angle, or a torque and the angle after it;
    empty where the position is not final.
    """

    position: int
    state: PositionRecord
    final: tuple[Quantity, ...]
    length: Quantity | None
    works: tuple[Work, ...]


class Group(_Recorded):
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


class Measurement(_Recorded):
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
    inputs: dict[str, Quantity] = {}
    size: Quantity | None = None
    leaves: Quantity | None = None
    leaves_what: str = ""
    stale: bool = False


class Note(_Recorded):
    """A spoken note; `seconds` is null where it was cut off, `present` false where its sound is lost."""

    note: int
    number: int
    step: str
    say: str
    file: str
    at: Time
    seconds: float | None
    present: bool = True


class Departure(_Recorded):
    """Something done otherwise than written, with the reason that was given."""

    number: int
    step: str
    what: str
    reason: str
    at: Time


class Part(_Recorded):
    """A kit item: how many the procedure wants, and when each was fitted."""

    part: str
    wanted: int
    use_once: bool
    fitted: tuple[Time, ...]


class Move(_Recorded):
    """A tool went in, or came out."""

    inside: bool
    at: Time


class Tool(_Recorded):
    """What went into the machine and must come out again."""

    tool: str
    inside: bool
    moves: tuple[Move, ...]


class Wait(_Recorded):
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


class Talk(_Recorded):
    """How many utterances were acted on, asked for again, let pass as talk or noise, and taken back.

    `sound_kept` is of how many refused ones the sound was kept, because that was asked for.
    """

    heard: int
    asked_again: int
    let_pass: int
    taken_back: int
    sound_kept: int = 0


class Moment(_Recorded):
    """One line of the time line, in plain words; `until` is the last of several of a kind.

    `said` is what the mechanic had said; what was taken back later stays, and says so.
    """

    at: Time
    until: Time | None
    what: str
    said: tuple[str, ...]
    taken_back: bool


class Record(_Recorded):
    """The record of one job. The same entries always give the same one."""

    format: Literal[1] = 1
    first_rule: str = FIRST_RULE
    demonstration: bool
    demonstration_words: str
    head: Head
    open_items: tuple[Open, ...]
    cautions: tuple[str, ...]
    steps: tuple[StepRow, ...]
    groups: tuple[Group, ...]
    measurements: tuple[Measurement, ...]
    notes: tuple[Note, ...]
    departures: tuple[Departure, ...]
    parts: tuple[Part, ...]
    tools: tuple[Tool, ...]
    waits: tuple[Wait, ...]
    talk: Talk
    time_line: tuple[Moment, ...]
