"""What is done at the positions of a group of fasteners."""

from typing import Literal

from assistant.job.events.base import JobEvent
from assistant.torque.ledger import Again, Standing
from assistant.torque.plan import Act


class PositionWorked(JobEvent):
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


class PositionTurned(JobEvent):
    """One round of a rise was done at a position that is not seated yet; it comes up again."""

    kind: Literal["position-turned"] = "position-turned"
    group: str
    number: int
    act: Act


class PositionReopened(JobEvent):
    """A position's act is to be done again; until then the position is doubtful.

    `leading_up` are the acts before it that are done again too: an angle begins at its threshold torque.
    """

    kind: Literal["position-reopened"] = "position-reopened"
    group: str
    number: int
    position: int
    leading_up: tuple[int, ...] = ()


class PassReopened(JobEvent):
    """What was done of a pass is to be done again: `numbers` of the plan, at these positions.

    `wrench` is one that was laid aside for the rest of the job.
    """

    kind: Literal["pass-reopened"] = "pass-reopened"
    group: str
    numbers: tuple[int, ...]
    positions: tuple[int, ...]
    because: Again
    wrench: str = ""


class PositionMarked(JobEvent):
    """A position was judged by the mechanic: doubtful, damaged, or sound after all."""

    kind: Literal["position-marked"] = "position-marked"
    group: str
    position: int
    standing: Standing
    why: str


class DamageMended(JobEvent):
    """What was done about a damaged position; `numbers` of the plan are to be done there afresh, if any."""

    kind: Literal["damage-mended"] = "damage-mended"
    group: str
    position: int
    remedy: str
    afresh: bool
    numbers: tuple[int, ...] = ()


class CalibrationTold(JobEvent):
    """The age of a wrench's calibration was told; once in a job is enough."""

    kind: Literal["calibration-told"] = "calibration-told"
    wrench: str


class TorqueTold(JobEvent):
    """What a group is brought to was told; what is said straight after it may be about the same."""

    kind: Literal["torque-told"] = "torque-told"
    group: str


class GroupLoosened(JobEvent):
    """A group was loosened for a step that is done again: it begins from nothing."""

    kind: Literal["group-loosened"] = "group-loosened"
    group: str
    step: str
