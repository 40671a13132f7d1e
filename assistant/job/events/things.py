"""What is measured, fitted, put in, taken out and waited for."""

from collections.abc import Mapping
from typing import Literal

from assistant.job.events.base import JobEvent
from assistant.measures.conformity import Verdict
from assistant.torque.units import Quantity


class Measured(JobEvent):
    """A measurement was taken, read back and confirmed.

    Of several `readings`, `value` is the mean. `least`, `most` and `doubt` (the gauge's uncertainty) are
    what it was judged by, and `inputs` the values, by name, from which those limits were worked out.
    """

    kind: Literal["measured"] = "measured"
    step: str
    value: Quantity
    verdict: Verdict
    readings: tuple[Quantity, ...] = ()
    least: Quantity | None = None
    most: Quantity | None = None
    doubt: Quantity | None = None
    inputs: Mapping[str, Quantity] = {}

    @property
    def judged(self) -> Quantity:
        """What the verdict is of."""
        return self.value

    @property
    def stands_for(self) -> Quantity:
        """What formulas take for it."""
        return self.value


class MeasurementAccepted(JobEvent):
    """A measurement that is not within its limits was let stand: a departure from the procedure."""

    kind: Literal["measurement-accepted"] = "measurement-accepted"
    step: str
    reason: str


class PartUsed(JobEvent):
    """A kit item was fitted: named as such, or `with_step`, taken so since its step was said to be done."""

    kind: Literal["part-used"] = "part-used"
    part: str
    step: str
    with_step: bool = False


class ToolMoved(JobEvent):
    """A locking pin, plug or rag went into the machine, or came out of it; one event for each of several.

    `with_step`: nobody named it, and it is taken so since its step was said to be done.
    """

    kind: Literal["tool-moved"] = "tool-moved"
    tool: str
    inside: bool
    step: str = ""
    with_step: bool = False


class TimerStarted(JobEvent):
    """A waiting time began; it runs on the wall clock, whatever happens to the program."""

    kind: Literal["timer-started"] = "timer-started"
    step: str
    seconds: float


class TimerEnded(JobEvent):
    """A waiting time was up, and the mechanic was told so."""

    kind: Literal["timer-ended"] = "timer-ended"
    step: str


class TimerStopped(JobEvent):
    """A waiting time was cut short by the mechanic."""

    kind: Literal["timer-stopped"] = "timer-stopped"
    step: str
    left_s: float
    reason: str = ""
