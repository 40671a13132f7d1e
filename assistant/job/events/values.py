"""What is read off a gauge several times, what is worked out, and what no longer holds."""

from collections.abc import Mapping
from typing import Literal

from assistant.job.events.base import JobEvent
from assistant.measures.conformity import Verdict
from assistant.torque.units import Quantity


class ReadingTaken(JobEvent):
    """One of several readings was taken, read back and confirmed."""

    kind: Literal["reading-taken"] = "reading-taken"
    step: str
    value: Quantity


class ReadingsReopened(JobEvent):
    """Another reading was asked for; `readings` stay in the series, none where it begins anew."""

    kind: Literal["readings-reopened"] = "readings-reopened"
    step: str
    readings: tuple[Quantity, ...]


class WorkedOut(JobEvent):
    """A value was worked out from others, and judged.

    `inputs` are the values it came from, by name. Where a `size` was chosen of those at hand, `leaves` is
    what it leaves; the verdict, the limits and the uncertainty (`doubt`) are then of that, else of `value`.
    """

    kind: Literal["worked-out"] = "worked-out"
    step: str
    value: Quantity
    verdict: Verdict
    inputs: Mapping[str, Quantity]
    least: Quantity | None = None
    most: Quantity | None = None
    doubt: Quantity | None = None
    size: Quantity | None = None
    leaves: Quantity | None = None

    @property
    def stands_for(self) -> Quantity:
        """What formulas take for it: the size that was chosen, or the value."""
        return self.size or self.value

    @property
    def judged(self) -> Quantity:
        """What the verdict is of."""
        return self.leaves or self.value


class ValueDoubted(JobEvent):
    """A value no longer holds, since one that it came from was measured again; its step is to be done again."""

    kind: Literal["value-doubted"] = "value-doubted"
    step: str
    because: str
