"""Whether the torques that an author wrote for a group can be meant, judged by what its fasteners bear.

A value on the way may be small, so only the one that finishes a position is judged low; one that an angle
follows is only a threshold. A group of which thread or class is not told, or not listed, is not judged.
"""

from collections import defaultdict

from pydantic import BaseModel, ConfigDict

from assistant.errors import TorqueError
from assistant.torque.group import FastenerGroup
from assistant.torque.plan import expand, torque_of
from assistant.torque.strength import Verdict, judge
from assistant.torque.units import Quantity

_JUDGED = ("torque", "rise", "check", "replace")


class DoubtedValue(BaseModel):
    """A torque that looks wrong: in which stage, at which positions, and why."""

    model_config = ConfigDict(frozen=True)

    group: str
    stage: int
    positions: tuple[int, ...]
    value: Quantity
    verdict: Verdict


def doubted_values(group: FastenerGroup) -> tuple[DoubtedValue, ...]:
    """Find the torques of a group that can hardly be meant, in the order of its stages."""
    if group.thread is None or group.property_class is None:
        return ()
    positions: dict[tuple[int, Quantity], set[int]] = defaultdict(set)
    verdicts: dict[Quantity, Verdict | None] = {}
    for act in expand(group):
        value = torque_of(act)
        if value is None or act.kind not in _JUDGED:
            continue
        verdict = verdicts.setdefault(value, _judged(group, value))
        if verdict and not verdict.clean and (act.last_stage or not _is_low(verdict)):
            positions[act.stage, value].add(act.position)
    return tuple(
        DoubtedValue(group=group.name, stage=stage, positions=tuple(sorted(at)), value=value, verdict=verdict)
        for (stage, value), at in positions.items()
        if (verdict := verdicts[value])
    )


def _judged(group: FastenerGroup, value: Quantity) -> Verdict | None:
    depth = None if group.into == "steel" else group.engagement
    try:
        return judge(
            group.thread or "",
            group.property_class or "",
            value,
            group.condition,
            material=group.into,
            engagement=depth,
        )
    except TorqueError:
        return None


def _is_low(verdict: Verdict) -> bool:
    return verdict.share_of_proof[1] < 1 and verdict.finding in ("low", "unit slip")
