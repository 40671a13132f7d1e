"""What can happen in a job, as events that are only ever appended.

An event says one thing that happened, in fixed words (`kind`), with plain values. The state of
a job is the fold of its events (`job.state`); the journal puts an envelope around each with its
number, its time and the hash of the one before (`job.journal`). Events of one utterance share
its `turn`, are written together or not at all, and are taken back together by `undo`. Each
module of this package holds those of one matter; here they are one list, and get their envelope.
"""

from typing import Annotated, Final

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, TypeAdapter

from assistant.job.events.notes import (
    Ending,
    Matter,
    NoteBegun,
    NoteCorrected,
    NoteEnded,
    NotesListed,
    NoteTranscribed,
    PictureTaken,
)
from assistant.job.events.parts import (
    LabelGiven,
    PartPlaced,
    PartRemoved,
    PartReturned,
    PartReused,
    PartTold,
    SupplyApplied,
    Told,
)
from assistant.job.events.positions import (
    CalibrationTold,
    DamageMended,
    GroupLoosened,
    PassReopened,
    PositionMarked,
    PositionReopened,
    PositionTurned,
    PositionWorked,
    TorqueTold,
)
from assistant.job.events.talk import (
    Asked,
    Heard,
    QuestionClosed,
    Refused,
    Replied,
    VoiceSet,
)
from assistant.job.events.things import (
    Measured,
    MeasurementAccepted,
    PartUsed,
    TimerEnded,
    TimerStarted,
    TimerStopped,
    ToolMoved,
)
from assistant.job.events.values import ReadingsReopened, ReadingTaken, ValueDoubted, WorkedOut
from assistant.job.events.way import (
    CautionGiven,
    CheckAnswered,
    CloseOutPassed,
    DecisionTaken,
    HelperCalled,
    JobClosed,
    JobOpened,
    JobTakenUp,
    OpenAccepted,
    Paused,
    Resumed,
    RevisionAnswered,
    StepDone,
    StepReached,
    StepReopened,
    StepSkipped,
    SuspectCleared,
    Undone,
    WorkedBefore,
)
from assistant.measures.conformity import Verdict

__all__ = [
    "EVENT",
    "Asked",
    "CalibrationTold",
    "CautionGiven",
    "CheckAnswered",
    "CloseOutPassed",
    "DamageMended",
    "DecisionTaken",
    "Ending",
    "Entry",
    "Event",
    "GroupLoosened",
    "Heard",
    "HelperCalled",
    "JobClosed",
    "JobOpened",
    "JobTakenUp",
    "LabelGiven",
    "Matter",
    "Measured",
    "MeasurementAccepted",
    "NoteBegun",
    "NoteCorrected",
    "NoteEnded",
    "NoteTranscribed",
    "NotesListed",
    "OpenAccepted",
    "PartPlaced",
    "PartRemoved",
    "PartReturned",
    "PartReused",
    "PartTold",
    "PartUsed",
    "PassReopened",
    "Paused",
    "PictureTaken",
    "PositionMarked",
    "PositionReopened",
    "PositionTurned",
    "PositionWorked",
    "QuestionClosed",
    "ReadingTaken",
    "ReadingsReopened",
    "Refused",
    "Replied",
    "Resumed",
    "RevisionAnswered",
    "StepDone",
    "StepReached",
    "StepReopened",
    "StepSkipped",
    "SupplyApplied",
    "SuspectCleared",
    "TimerEnded",
    "TimerStarted",
    "TimerStopped",
    "Told",
    "ToolMoved",
    "TorqueTold",
    "Undone",
    "ValueDoubted",
    "Verdict",
    "VoiceSet",
    "WorkedBefore",
    "WorkedOut",
]

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
    | PassReopened
    | PositionMarked
    | DamageMended
    | CalibrationTold
    | TorqueTold
    | Measured
    | MeasurementAccepted
    | ReadingTaken
    | ReadingsReopened
    | WorkedOut
    | ValueDoubted
    | PartUsed
    | ToolMoved
    | LabelGiven
    | PartPlaced
    | PartRemoved
    | PartReturned
    | PartReused
    | PartTold
    | SupplyApplied
    | TimerStarted
    | TimerEnded
    | TimerStopped
    | NoteBegun
    | NoteEnded
    | NotesListed
    | NoteTranscribed
    | NoteCorrected
    | PictureTaken
    | Asked
    | QuestionClosed
    | Paused
    | Resumed
    | RevisionAnswered
    | Undone
    | VoiceSet
    | DecisionTaken
    | StepReopened
    | SuspectCleared
    | WorkedBefore
    | GroupLoosened
    | HelperCalled
    | OpenAccepted
    | CloseOutPassed
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
