"""A group's stages, expanded into single acts: what is done at which position, in the order of doing."""

from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal
from typing import Final, Literal, TypeAlias

from pydantic import BaseModel, ConfigDict

from assistant.torque.group import FastenerGroup
from assistant.torque.stages import Kind
from assistant.torque.stages import Stage as Stage  # noqa: PLC0414 (the plan's users find its stages here)
from assistant.torque.units import Quantity

#: Kinds for which an order, once given, has to be kept.
_ORDERED = ("torque", "angle", "rise", "check")


End: TypeAlias = (
    Quantity | Literal["hand-tight", "snug", "seated", "check", "centring tool", "fastener for tool"]
)
"""What an act brings a position to: a value, or in a word what hand or eye decides."""


class Act(BaseModel):
    """One thing done at one position.

    `stage` counts from 1 among the group's `stages`; `previous` is the stage that this position
    comes from (0: none). `value` is a torque, an angle, or None where hand or eye decides; a rise
    has its step there and its end in `until`. `round` counts from 1 to `rounds`, which is 0 where
    a rise takes as many rounds as it takes. `final` says that the position is finished by it,
    `last_stage` that its stage is the last one for the position, `ordered` that working out of
    turn matters. `block` is the first of the stages that are gone through position by position with this one
    (itself, where it stands alone).
    """

    model_config = ConfigDict(frozen=True)

    position: int
    stage: int
    stages: int
    kind: Kind
    value: Quantity | None = None
    final: bool = False
    clicks: bool = False
    ordered: bool = False
    previous: int = 0
    round: int = 1
    rounds: int = 1
    until: Literal["seated"] | Quantity | None = None
    last_stage: bool = False
    block: int = 0


_BY_HAND: Final[Mapping[Kind, End]] = {
    "hand": "hand-tight",
    "snug": "snug",
    "check": "check",
    "centre": "centring tool",
    "replace": "fastener for tool",
}


def expand(group: FastenerGroup) -> tuple[Act, ...]:
    """Give every act of the group's plan, in the order in which they are done."""
    acts: list[Act] = []
    for block in _blocks(group.stages):
        done = _pass(group, block[0]) if len(block) == 1 else _one_at_a_time(group, block)
        # One position after the other is an order, also where none was listed.
        together = {"block": block[0], "ordered": True} if len(block) > 1 else {"block": block[0]}
        acts += [act.model_copy(update=together) for act in done]
    return tuple(acts)


def expand_after_heat(group: FastenerGroup) -> tuple[Act, ...]:
    """Give the acts that go over the final torque once more after the first heat, where the group wants that."""
    if not group.retorque_after_heat:
        return ()
    stage = len(group.stages) + 1
    checked = [(position, group.final_torque(position)) for position in group.sequence()]
    return tuple(
        Act(
            position=position,
            stage=stage,
            stages=stage,
            kind="check",
            value=value,
            final=True,
            ordered=group.order_matters(),
            previous=len(group.stages),
            block=stage,
            last_stage=True,
        )
        for position, value in checked
    )


def acts_of_stage(acts: Sequence[Act], stage: int) -> tuple[Act, ...]:
    """Give the acts of one stage (from 1), in their order."""
    return tuple(act for act in acts if act.stage == stage)


def final_value(group: FastenerGroup, position: int) -> Quantity | None:
    """Give the torque or angle with which a position is finished; None where none is stated."""
    ends = [act for act in expand(group) if act.position == position and act.final]
    if not ends:
        return None
    return ends[-1].until if isinstance(ends[-1].until, Quantity) else ends[-1].value


def end_of(act: Act) -> End:
    """Give what an act brings a position to, once it is done; of a rise its end, not its step."""
    if act.kind == "rise":
        return act.until or "seated"
    return _BY_HAND.get(act.kind, "seated") if act.value is None else act.value


def left_by(acts: Sequence[Act]) -> tuple[End, ...]:
    """Give what the acts of one position leave there: the last torque or word, and the angles turned after it.

    Of acts that were done again the last time counts. A back-off takes away what was there before it.
    """
    left: tuple[End, ...] = ()
    latest = {(act.stage, act.round): act for act in acts}
    for act in (latest[turn] for turn in sorted(latest)):
        kept = left if act.kind == "angle" else ()
        left = () if act.kind == "back-off" else (*kept, end_of(act))
    return left


def torque_of(act: Act) -> Quantity | None:
    """Give the torque that an act ends in; None where hand, eye or an angle decides."""
    ends = (each for each in (act.value, act.until) if isinstance(each, Quantity))
    return next((end for end in ends if end.dimension == "torque"), None)


def redone_with(acts: Sequence[Act], index: int) -> tuple[int, ...]:
    """Give the indices of the acts that doing the one at `index` again takes, itself the last.

    An angle is not added twice: the position is loosened and brought to its threshold torque first.
    """
    act = acts[index]
    if act.kind != "angle":
        return (index,)
    before = [i for i, each in enumerate(acts[:index]) if each.position == act.position]
    threshold = next((i for i in reversed(before) if torque_of(acts[i])), index)
    return (*(i for i in before if i >= threshold), index)


def in_order(acts: Sequence[Act], done: Collection[int], index: int) -> bool:
    """Tell whether the act at `index` is due: every act before it whose order matters is `done`.

    `done` holds indices of `acts`; rounds that a rise no longer needed count as done.
    """
    return all(i in done for i, act in enumerate(acts[:index]) if act.ordered)


def seated(act: Act) -> Act:
    """Give the act of a rise as its last one, where it seated or clicked before its last round."""
    return act.model_copy(update={"final": act.last_stage})


def _blocks(stages: Sequence[Stage]) -> list[list[int]]:
    """Group stage numbers: those joined are done together, position by position."""
    blocks: list[list[int]] = []
    open_block = False
    for number, stage in enumerate(stages, start=1):
        if open_block:
            blocks[-1].append(number)
        else:
            blocks.append([number])
        open_block = stage.joined
    return blocks


def _pass(group: FastenerGroup, number: int) -> list[Act]:
    stage = group.stages[number - 1]
    rounds = range(1, max(1, stage.most_rounds) + 1)
    return [_act(group, number, position, turn) for turn in rounds for position in group.sequence(stage)]


def _one_at_a_time(group: FastenerGroup, block: Sequence[int]) -> list[Act]:
    passes = [_pass(group, number) for number in block]
    positions = dict.fromkeys(act.position for acts in passes for act in acts)
    return [act for position in positions for acts in passes for act in acts if act.position == position]


def _act(group: FastenerGroup, number: int, position: int, turn: int) -> Act:
    stage = group.stages[number - 1]
    visits = [n for n, known in enumerate(group.stages, start=1) if position in group.taken_by(known)]
    last = number == visits[-1]
    return Act(
        position=position,
        stage=number,
        stages=len(group.stages),
        kind=stage.kind,
        value=_value(group, stage, position),
        final=last and turn >= stage.most_rounds,
        clicks=stage.clicks and turn >= stage.least_rounds,
        ordered=stage.kind in _ORDERED and group.order_matters(stage),
        previous=max((n for n in visits if n < number), default=0),
        round=turn,
        rounds=stage.most_rounds if stage.kind == "rise" else 1,
        until=_until(group, stage, position),
        last_stage=last,
    )


def _value(group: FastenerGroup, stage: Stage, position: int) -> Quantity | None:
    torque = group.final_torque(position)
    if stage.share is not None and torque is not None:
        return torque.scaled(stage.share.value / Decimal(100))
    if stage.kind == "check" and stage.value is None:
        return torque
    return stage.value if stage.kind in ("rise", "back-off") else _own_final(group, stage, position)


def _until(group: FastenerGroup, stage: Stage, position: int) -> Literal["seated"] | Quantity | None:
    return _own_final(group, stage, position) if isinstance(stage.until, Quantity) else stage.until


def _own_final(group: FastenerGroup, stage: Stage, position: int) -> Quantity | None:
    """Give the stage's end value, or the position's own final where this stage is to reach it.

    That is the last stage that tightens to a torque (for a final torque) or by an angle (for a
    final angle), and every check, wherever it stands.
    """
    own, end = group.finals.get(position), stage.end
    if own is None or end is None or own.dimension != end.dimension:
        return end
    tightening = [
        known
        for known in group.stages
        if known.reaches == own.dimension and known.kind != "check" and position in group.taken_by(known)
    ]
    return own if stage.kind == "check" or any(known is stage for known in tightening[-1:]) else end
