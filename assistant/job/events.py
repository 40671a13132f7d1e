"""What can happen in a job, as events that are only ever appended.

An event says one thing that happened, in fixed words (`kind`), with plain values. The state of
a job is the fold of its events (`job.state`); the journal puts an envelope around each with its
number, its time and the hash of the one before (`job.journal`). Events of one utterance share
its `turn`, are written together or not at all, and are taken back together by `undo`. One module
holds them all, long as it is: whoever asks what can happen in a job finds the whole answer here.
"""

from collections.abc import Mapping
from typing import Annotated, Final, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, TypeAdapter

from assistant.torque.ledger import Standing
from assistant.torque.plan import Act
from assistant.torque.units import Quantity

Verdict = Literal["in", "below", "above", "in doubt"]
"""A measurement against its limits; in doubt where the gauge cannot tell."""


class _Event(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class JobOpened(_Event):
    """The job begins, on the procedure as it then was."""

    kind: Literal["job-opened"] = "job-opened"
    job: str
    procedure: str
    revision: int
    demonstration: bool = False
    route: str = ""


class JobTakenUp(_Event):
    """The job was opened again by a new run of the program."""

    kind: Literal["job-taken-up"] = "job-taken-up"


class Heard(_Event):
    """Something was said to the assistant and acted on."""

    kind: Literal["heard"] = "heard"
    words: str
    intents: tuple[str, ...]
    engine: str = ""
    confidence: float | None = None


class Refused(_Event):
    """Sound that was not acted on: too unsure, so it was asked for again; or taken for talk or noise.

    `file` is where its sound was kept in the job's folder, if it was asked to be.
    """

    kind: Literal["refused"] = "refused"
    words: str = ""
    asked_again: bool = True
    file: str = ""


class Replied(_Event):
    """What the assistant said, word for word; on disk before it is spoken.

    A passing one ("say again") is not what "repeat" brings back.
    """

    kind: Literal["replied"] = "replied"
    words: str
    passing: bool = False


class CautionGiven(_Event):
    """The caution of a step (or of the job, step "") was read out, or acknowledged."""

    kind: Literal["caution-given"] = "caution-given"
    step: str
    acknowledged: bool = False


class StepReached(_Event):
    """The reading moved to this step; nothing is done by it."""

    kind: Literal["step-reached"] = "step-reached"
    step: str


class StepDone(_Event):
    """A step was said to be done."""

    kind: Literal["step-done"] = "step-done"
    step: str


class StepSkipped(_Event):
    """A step was left out, with the mechanic's reason: a departure from the procedure."""

    kind: Literal["step-skipped"] = "step-skipped"
    step: str
    reason: str


class MeasurementAccepted(_Event):
    """A measurement that is not within its limits was let stand: a departure from the procedure."""

    kind: Literal["measurement-accepted"] = "measurement-accepted"
    step: str
    reason: str


class CheckAnswered(_Event):
    """The question of a gate, or the end test of a wait, was answered."""

    kind: Literal["check-answered"] = "check-answered"
    step: str
    passed: bool


class PositionWorked(_Event):
    """One act of a group's plan was done at one position.

    `number` is the place of the act in the group's expanded plan, from 0; the act itself goes with
    it, so that a journal can be read without its procedure. `spared` are the later rounds that it
    makes needless, `wrench` is what was chosen for it.
    """

    kind: Literal["position-worked"] = "position-worked"
    group: str
    number: int
    act: Act
    in_order: bool = True
    spared: tuple[int, ...] = ()
    wrench: str = ""


class PositionTurned(_Event):
    """One round of a rise was done at a position that is not seated yet; it comes up again."""

    kind: Literal["position-turned"] = "position-turned"
    group: str
    number: int
    act: Act


class PositionReopened(_Event):
    """A position's act is to be done again; until then the position is doubtful."""

    kind: Literal["position-reopened"] = "position-reopened"
    group: str
    number: int
    position: int


class PositionMarked(_Event):
    """A position was judged by the mechanic: doubtful, damaged, or sound after all."""

    kind: Literal["position-marked"] = "position-marked"
    group: str
    position: int
    standing: Standing
    why: str


class CalibrationTold(_Event):
    """The age of a wrench's calibration was told; once in a job is enough."""

    kind: Literal["calibration-told"] = "calibration-told"
    wrench: str


class Measured(_Event):
    """A measurement was taken, read back and confirmed."""

    kind: Literal["measured"] = "measured"
    step: str
    value: Quantity
    verdict: Verdict


class PartUsed(_Event):
    """A kit item was fitted."""

    kind: Literal["part-used"] = "part-used"
    part: str
    step: str


class ToolMoved(_Event):
    """A locking pin, plug or rag went into the machine, or came out of it."""

    kind: Literal["tool-moved"] = "tool-moved"
    tool: str
    inside: bool


class TimerStarted(_Event):
    """A waiting time began; it runs on the wall clock, whatever happens to the program."""

    kind: Literal["timer-started"] = "timer-started"
    step: str
    seconds: float


class TimerEnded(_Event):
    """A waiting time was up, and the mechanic was told so."""

    kind: Literal["timer-ended"] = "timer-ended"
    step: str


class TimerStopped(_Event):
    """A waiting time was cut short by the mechanic."""

    kind: Literal["timer-stopped"] = "timer-stopped"
    step: str
    left_s: float


class NoteBegun(_Event):
    """A spoken note began; its sound is in `file`, in the job's folder."""

    kind: Literal["note-begun"] = "note-begun"
    note: int
    file: str
    step: str


class NoteEnded(_Event):
    """A spoken note ended."""

    kind: Literal["note-ended"] = "note-ended"
    note: int
    seconds: float


class Asked(_Event):
    """A question was put; it is pending until answered or dropped, through any crash."""

    kind: Literal["asked"] = "asked"
    question: str
    about: Mapping[str, str] = {}


class QuestionClosed(_Event):
    """The pending question was answered or dropped."""

    kind: Literal["question-closed"] = "question-closed"
    answer: str


class Paused(_Event):
    """The mechanic left the bench."""

    kind: Literal["paused"] = "paused"


class Resumed(_Event):
    """The mechanic came back."""

    kind: Literal["resumed"] = "resumed"


class Undone(_Event):
    """The last recorded turn was taken back; what it had recorded stays in the journal."""

    kind: Literal["undone"] = "undone"
    turn: int


class VoiceSet(_Event):
    """Loudness and pace of the spoken replies, 1 as usual."""

    kind: Literal["voice-set"] = "voice-set"
    loudness: float
    pace: float


class JobClosed(_Event):
    """The job was closed; `open_items` says what was accepted as open, with the reason."""

    kind: Literal["job-closed"] = "job-closed"
    open_items: tuple[str, ...] = ()
    reason: str = ""


Event = Annotated[
    JobOpened
    | JobTakenUp
    | Heard
    | Refused
    | Replied
    | CautionGiven
    | StepReached
    | StepDone
    | StepSkipped
    | CheckAnswered
    | PositionWorked
    | PositionTurned
    | PositionReopened
    | PositionMarked
    | CalibrationTold
    | Measured
    | MeasurementAccepted
    | PartUsed
    | ToolMoved
    | TimerStarted
    | TimerEnded
    | TimerStopped
    | NoteBegun
    | NoteEnded
    | Asked
    | QuestionClosed
    | Paused
    | Resumed
    | Undone
    | VoiceSet
    | JobClosed,
    Field(discriminator="kind"),
]

EVENT: Final[TypeAdapter[Event]] = TypeAdapter(Event)
"""Reads and writes any event; `kind` says which."""


class Entry(BaseModel):
    """An event in its envelope, as the journal keeps it.

    `seq` counts from 1; `turn` is the utterance it belongs to; `at` is in UTC.
    """

    model_config = ConfigDict(frozen=True)

    seq: int
    turn: int
    at: AwareDatetime
    event: Event
