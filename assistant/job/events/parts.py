"""What comes off and where it lies, what is labelled, reused and put on."""

from typing import Literal

from assistant.job.events.base import JobEvent

Told = Literal["mark", "way_round"]
"""What can be told of a part that comes off."""


class PartRemoved(JobEvent):
    """A part came off, and was laid in `place` if one was said; `thing` is its name or its label."""

    kind: Literal["part-removed"] = "part-removed"
    thing: str
    step: str
    place: str = ""


class PartPlaced(JobEvent):
    """A part that is off was laid in another place."""

    kind: Literal["part-placed"] = "part-placed"
    thing: str
    step: str
    place: str


class PartTold(JobEvent):
    """The mark or the way round of a part that came off was told."""

    kind: Literal["part-told"] = "part-told"
    thing: str
    step: str
    about: Told
    answer: str


class PartReturned(JobEvent):
    """A part went back to where it came from; its place in the shop is free again.

    `with_step`: nobody named it, and it is taken so since its step was said to be done.
    `untold`: nobody had told that it was off.
    """

    kind: Literal["part-returned"] = "part-returned"
    thing: str
    step: str
    with_step: bool = False
    untold: bool = False


class LabelGiven(JobEvent):
    """A part that the procedure does not name got a label; the note of this number describes it."""

    kind: Literal["label-given"] = "label-given"
    label: str
    step: str
    note: int


class PartReused(JobEvent):
    """The old part was fitted again in place of one of the kit, with the mechanic's reason."""

    kind: Literal["part-reused"] = "part-reused"
    part: str
    step: str
    reason: str
    departure: bool = False


class SupplyApplied(JobEvent):
    """A lubricant, sealant or threadlocker was put on at a step that wants it."""

    kind: Literal["supply-applied"] = "supply-applied"
    step: str
    what: str
