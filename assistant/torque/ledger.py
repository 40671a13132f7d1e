"""What a position's state becomes when something is done there: the rules; the fold is the job's.

What an act makes of a position:

    act                   standing afterwards
    hand                  HAND
    snug                  SNUG
    torque, angle, rise,
    check, replace        STAGE k of n, or FINAL where the plan says so
    centre                HAND or STAGE, with a tool in the position instead of its fastener
    back-off              DOUBTFUL until it is tightened again
    a round of a rise     HAND where it was EMPTY, otherwise as before: it is in, and not seated yet

and what overrules the table:

  * Damaged stays damaged until somebody marks it otherwise.
  * Final stays final, except under a back-off: what has been loosened is not final.
  * What is below the stage already reached changes nothing; a tightened fastener is not made hand-tight
    by saying so.
  * Out of turn, where the order matters, is doubtful. So is an angle on something that is not at its
    threshold torque, what somebody wants to do again, and what was done in a pass that was broken off or in
    which the wrench was changed. Such doubt goes with the same stage done again in its turn, or by marking;
    later stages do not heal it.
"""

from enum import StrEnum
from typing import Literal, Self, TypeAlias

from pydantic import BaseModel, ConfigDict

from assistant.torque.plan import Act
from assistant.torque.stages import Kind
from assistant.torque.units import Quantity

Doubt: TypeAlias = Literal[
    "", "order", "threshold", "back-off", "again", "interrupted", "tool", "tightened", "marked"
]
Again: TypeAlias = Literal["again", "interrupted", "tool", "tightened"]
"""Why a position is to be done again."""

_WHY_AGAIN: dict[Again, str] = {
    "again": "to be done again",
    "interrupted": "its pass was left in the middle",
    "tool": "the wrench was changed in the middle of its pass",
    "tightened": "it was tightened again after it had been backed off",
}
_HEALED_BY_DOING_AGAIN: tuple[Doubt, ...] = ("order", "threshold", *_WHY_AGAIN)


class Standing(StrEnum):
    """How far a position has come."""

    UNTOUCHED = "not touched"
    HAND = "hand-tight"
    SNUG = "snug"
    STAGE = "at a stage"
    FINAL = "final"
    DOUBTFUL = "doubtful"
    DAMAGED = "damaged"

    @classmethod
    def _missing_(cls, value: object) -> Self | None:
        """Read the word that older journals and records have for a position that nobody has worked on."""
        return cls.UNTOUCHED if value == "empty" else None


class PositionRecord(BaseModel):
    """The state of one position.

    `stage` of `stages` is the last one reached (0: none), `value` what was last applied, `why` what
    is to be said about it, and `doubt` what kind of doubt there is, for the rules alone. `mended` tells what
    was damaged there and what was done about it, whatever is done at the position afterwards.
    """

    model_config = ConfigDict(frozen=True)

    standing: Standing = Standing.UNTOUCHED
    stage: int = 0
    stages: int = 0
    value: Quantity | None = None
    holds: Literal["nothing", "fastener", "tool"] = "nothing"
    why: str = ""
    doubt: Doubt = ""
    mended: str = ""

    @property
    def words(self) -> str:
        """How far the position has come, as it is written."""
        reached = self.standing is Standing.STAGE
        return f"stage {self.stage} of {self.stages}" if reached else str(self.standing)


_TURNED: dict[Kind, Standing] = {
    "hand": Standing.HAND,
    "snug": Standing.SNUG,
    "torque": Standing.STAGE,
    "angle": Standing.STAGE,
    "rise": Standing.STAGE,
    "check": Standing.STAGE,
    "replace": Standing.STAGE,
    "centre": Standing.STAGE,
    "back-off": Standing.DOUBTFUL,
}


def after(record: PositionRecord, act: Act, *, in_order: bool) -> PositionRecord:
    """Give the position's record after an act; `in_order` tells whether it was due (see plan.in_order)."""
    if record.standing is Standing.DAMAGED:
        return record
    if act.kind == "back-off":
        return _backed_off(record, act)
    if record.standing is Standing.FINAL or act.stage < record.stage:
        return record
    doubt, why = _doubt(record, act, in_order=in_order)
    return PositionRecord(
        standing=Standing.DOUBTFUL if doubt else _reached(act),
        stage=act.stage,
        stages=act.stages,
        value=act.until if isinstance(act.until, Quantity) and act.final else act.value,
        holds="tool" if act.kind == "centre" else "fastener",
        why=why,
        doubt=doubt,
        mended=record.mended,
    )


def turned(record: PositionRecord) -> PositionRecord:
    """Give the record after a round of a rise that did not seat it: a fastener is in, and nothing reached."""
    if record.standing is not Standing.UNTOUCHED:
        return record
    return record.model_copy(update={"standing": Standing.HAND, "holds": "fastener"})


def marked(record: PositionRecord, standing: Standing, why: str) -> PositionRecord:
    """Give the record as somebody judged it: doubtful, damaged, or sound again, with the reason."""
    if standing is Standing.UNTOUCHED:
        return begun_afresh(why, record.mended)
    held = "fastener" if record.holds == "nothing" else record.holds
    doubt: Doubt = "marked" if standing is Standing.DOUBTFUL else ""
    return record.model_copy(update={"standing": standing, "holds": held, "why": why, "doubt": doubt})


def reopened(record: PositionRecord, because: Again = "again") -> PositionRecord:
    """Give the record of a position whose last stage is to be done again: doubtful until then."""
    update = {"standing": Standing.DOUBTFUL, "why": _WHY_AGAIN[because], "doubt": because}
    return record if record.standing is Standing.DAMAGED else record.model_copy(update=update)


def begun_afresh(why: str, mended: str = "") -> PositionRecord:
    """Give the record of a position that is begun from nothing, with why: mended, or loosened again."""
    return PositionRecord(why=why, mended=mended)


def is_open(record: PositionRecord) -> bool:
    """Whether something is still to be done or decided at this position."""
    return record.standing is not Standing.FINAL


def describe(record: PositionRecord) -> dict[str, str]:
    """Give the record as plain words: standing, and where they apply stage, value, holds, why and mended."""
    words = {
        "standing": str(record.standing),
        "stage": f"{record.stage} of {record.stages}" if record.stage else "",
        "value": str(record.value) if record.value else "",
        "holds": record.holds,
        "why": record.why,
        "mended": record.mended,
    }
    return {key: word for key, word in words.items() if word}


def _reached(act: Act) -> Standing:
    if act.final:
        return Standing.FINAL
    by_hand = act.kind in ("centre", "replace") and act.value is None
    return Standing.HAND if by_hand else _TURNED[act.kind]


def _backed_off(record: PositionRecord, act: Act) -> PositionRecord:
    marked_by_hand = record.doubt == "marked"
    return PositionRecord(
        standing=_TURNED[act.kind],
        stage=act.stage,
        stages=act.stages,
        value=act.value,
        holds=record.holds,
        why=record.why if marked_by_hand else f"backed off {act.value} and not tightened again",
        doubt="marked" if marked_by_hand else "back-off",
        mended=record.mended,
    )


def _doubt(record: PositionRecord, act: Act, *, in_order: bool) -> tuple[Doubt, str]:
    """Tell whether the position is in doubt after the act, and why."""
    if act.ordered and not in_order:
        return "order", f"stage {act.stage} was done out of order"
    if act.kind == "angle" and (record.doubt == "back-off" or record.stage < act.previous):
        return "threshold", f"turned {act.value} from below its threshold torque"
    again = act.stage == record.stage and record.doubt in _HEALED_BY_DOING_AGAIN
    if record.doubt in ("", "back-off") or again:
        return "", ""
    return record.doubt, record.why
