"""The way through the job: its beginning and end, its steps, gates and departures."""

from typing import Annotated, Literal

from pydantic import Field

from assistant.job.events.base import JobEvent

_DAY_MIN = 24 * 60


class JobOpened(JobEvent):
    """The job begins, on the procedure as it then was, by a clock that is so many minutes ahead of UTC.

    `started_hash` seals the procedure and the list of tools, which are files beside the journal; jobs that
    began before it was kept have none.
    """

    kind: Literal["job-opened"] = "job-opened"
    job: str
    procedure: str
    revision: int
    demonstration: bool = False
    route: str = ""
    machine: str = ""
    who: str = ""
    started_hash: str = ""
    utc_offset_min: Annotated[int, Field(gt=-_DAY_MIN, lt=_DAY_MIN)] = 0


class JobTakenUp(JobEvent):
    """The job was opened again by a new run of the program; `who` works on it from now on."""

    kind: Literal["job-taken-up"] = "job-taken-up"
    who: str = ""


class JobClosed(JobEvent):
    """The job was closed; `open_items` says what was accepted as open, with the reason."""

    kind: Literal["job-closed"] = "job-closed"
    open_items: tuple[str, ...] = ()
    reason: str = ""


class RevisionAnswered(JobEvent):
    """A newer revision of the procedure was offered: taken, with its `text` from here on, or not."""

    kind: Literal["revision-answered"] = "revision-answered"
    revision: int
    taken: bool
    text: str = ""


class CautionGiven(JobEvent):
    """The caution of a step (or of the job, step "") was read out, or acknowledged."""

    kind: Literal["caution-given"] = "caution-given"
    step: str
    acknowledged: bool = False


class StepReached(JobEvent):
    """The reading moved to this step; nothing is done by it."""

    kind: Literal["step-reached"] = "step-reached"
    step: str


class StepDone(JobEvent):
    """A step was said to be done."""

    kind: Literal["step-done"] = "step-done"
    step: str


class StepSkipped(JobEvent):
    """A step was left out, with the mechanic's reason, and in it who asked for it: a departure from the procedure."""

    kind: Literal["step-skipped"] = "step-skipped"
    step: str
    reason: str


class CheckAnswered(JobEvent):
    """The question of a gate, or the end test of a wait, was answered; at a hold point, who has seen it."""

    kind: Literal["check-answered"] = "check-answered"
    step: str
    passed: bool
    by: str = ""


class Paused(JobEvent):
    """The mechanic left the bench."""

    kind: Literal["paused"] = "paused"


class Resumed(JobEvent):
    """The mechanic came back."""

    kind: Literal["resumed"] = "resumed"


class Undone(JobEvent):
    """The last recorded turn was taken back; what it had recorded stays in the journal."""

    kind: Literal["undone"] = "undone"
    turn: int


class DecisionTaken(JobEvent):
    """A decision was taken: the steps that depend on it come up, or are left out."""

    kind: Literal["decision-taken"] = "decision-taken"
    step: str
    decision: str
    yes: bool


class StepReopened(JobEvent):
    """A step is to be done again; `suspect` are the steps that rest on it and were done."""

    kind: Literal["step-reopened"] = "step-reopened"
    step: str
    suspect: tuple[str, ...] = ()


class SuspectCleared(JobEvent):
    """A suspect step was found to be still good."""

    kind: Literal["suspect-cleared"] = "suspect-cleared"
    step: str


class WorkedBefore(JobEvent):
    """A step was worked before one that it rests on: a departure from the procedure."""

    kind: Literal["worked-before"] = "worked-before"
    step: str
    missing: str
    reason: str


class HelperCalled(JobEvent):
    """The second person was told to begin, or to stop."""

    kind: Literal["helper-called"] = "helper-called"
    step: str
    going: bool


class OpenAccepted(JobEvent):
    """An open item was accepted as it is at close-out, with the reason."""

    kind: Literal["open-accepted"] = "open-accepted"
    item: str
    reason: str


class CloseOutPassed(JobEvent):
    """Everything open was settled or accepted; what comes with the first start is next."""

    kind: Literal["close-out-passed"] = "close-out-passed"
