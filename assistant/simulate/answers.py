"""What a simulated mechanic answers to each question, and says at each kind of step.

Two tables, one rule each for every question and every action of a step that there is; a test holds them
against the dialogue's own. Nothing here knows a procedure: the rules look at the job and at what can be said.
"""

from collections.abc import Callable, Mapping
from typing import Final

from assistant.dialogue.names import names_of
from assistant.errors import TorqueError
from assistant.hearing.grammar import words_of
from assistant.job.closeout import open_items
from assistant.job.values import missing, work_out
from assistant.job.way import is_open
from assistant.measures.conformity import GOOD
from assistant.procedure.values import needs_of
from assistant.simulate.measured_said import say_value
from assistant.simulate.scene import Dice, Move, Scene
from assistant.torque.ledger import is_open as is_position_open

Rule = Callable[[Scene, Dice], Move]

_REASON: Final = "not needed"
_NOT_YET: Final = 0.15
"""How often a check or a test is answered with no the first time."""

_SEATED: Final = 0.4
"""How often a fastener that is drawn down by parts of a turn is seated with this one."""

_MOST_TRIES: Final = 4
_ALL_AT_ONCE: Final = 0.15
_BY_NUMBER: Final = 0.4


def _always(words: str) -> Rule:
    return lambda _scene, _dice: Move(words)


def _at_first_no(scene: Scene, dice: Dice) -> Move:
    """Answer no once in a while, and yes when it is asked again."""
    return Move("no" if dice.once(f"no at {scene.about}", _NOT_YET) else "yes")


def _value_read_back(scene: Scene, dice: Dice) -> Move:
    """Say yes; where a wrong number was said, it is noticed now, and the right one said in one go."""
    step = scene.about["step"]
    if step not in dice.slipped:
        return Move("yes")
    dice.slipped.discard(step)
    return Move(say_value(scene, dice, "no, measured") or "no")


def _out_of_limits(scene: Scene, dice: Dice) -> Move:
    """Measure again once in a while; else let it stand, as the owner wants it."""
    measures = scene.route.step(scene.about["step"]).measure is not None
    return Move("no" if measures and dice.once(f"again at {scene.about['step']}", 0.5) else "yes")


def _decision(scene: Scene, _dice: Dice) -> Move:
    """Decide one way on one walk and the other way on another: each decision is one bit of the walk's number."""
    decisions = [step.step for step in scene.route.steps if step.decide]
    return Move("no" if scene.walk >> decisions.index(scene.about["step"]) & 1 else "yes")


def _person(scene: Scene, dice: Dice) -> Move:
    people = [name for name in scene.route.procedure.people if scene.can_say(name)]
    return Move(dice.rng.choice(people) if people else "cancel")


def _item_left_open(scene: Scene, dice: Dice) -> Move:
    """Go back to an open thing once; what stays open after that is accepted as it is."""
    key = (open_items(scene.route, scene.state), len(scene.state.accepted_open))
    if key in dice.sent_back:
        return Move("yes")
    dice.sent_back.add(key)
    return Move("no")


def _told(scene: Scene, dice: Dice) -> Move:
    """Try the answers that the procedure expects of its parts, such as which end is up, until one is taken."""
    expected = sorted(names_of(scene.route)["told"])
    return Move(dice.rng.choice(expected) if expected else "cancel")


ANSWERS: Final[Mapping[str, Rule]] = {
    "begin": _always("yes"),
    "caution": _always("yes"),
    "check": _at_first_no,
    "wait-test": _at_first_no,
    "value": _value_read_back,
    "out-of-limits": _out_of_limits,
    "accept-reason": _always(_REASON),
    "no-place": _always("yes"),
    "applied": _always("yes"),
    "reuse": _always(_REASON),
    "told": _told,
    "out-of-order": lambda _scene, dice: Move("yes" if dice.falls(0.3) else "no"),
    "final": _always("yes"),
    "clicked": _always("yes"),
    "all-done": _always("yes"),
    "sound": _always("yes"),
    "remedy": _always("new bolt"),
    "cut-short": _always("no"),
    "cut-short-reason": _always(_REASON),
    "decide": _decision,
    "revision": _always("no"),
    "seen-by": _person,
    "before": _always("no"),
    "before-reason": _always(_REASON),
    "loosen": lambda _scene, dice: Move("yes" if dice.falls(0.5) else "no"),
    "suspect": _always("yes"),
    "skip-reason": _always(_REASON),
    "who": _person,
    "skip": _always("yes"),
    "close-open": _item_left_open,
    "close-reason": _always(_REASON),
    "close": _always("yes"),
}
"""What is answered to each question of the dialogue."""


def _plain(_scene: Scene, dice: Dice) -> Move:
    return Move("done, next" if dice.falls(0.6) else "done")


def _tighten(scene: Scene, dice: Dice) -> Move:
    """Say it as one does: by number, shortly, or all at once; what is seated or clicks is said so."""
    left = scene.acts_left()
    if not left:
        return Move("done")
    act = left[0]
    if act.kind == "rise" and act.rounds == 0 and dice.falls(_SEATED):
        return Move("seated")
    if act.kind != "rise" and dice.falls(_ALL_AT_ONCE):
        return Move("all done")
    named = f"number {act.position} done"
    return Move(named if act.kind != "rise" and dice.falls(_BY_NUMBER) and scene.can_say(named) else "done")


def _measure(scene: Scene, dice: Dice) -> Move:
    """Say a value; where one is there already, say done, and the assistant tells how it stands."""
    step = scene.step
    if step.step in scene.state.measured and step.step not in scene.state.readings:
        return Move("done")
    return _first_the_missing(scene) or Move(say_value(scene, dice) or "skip")


def _work_out(scene: Scene, dice: Dice) -> Move:
    """Have the value worked out; where that cannot be, measure again what it comes from, a few times."""
    if lacking := _first_the_missing(scene):
        return lacking
    try:
        work_out(scene.route, scene.state, scene.step.step)
    except TorqueError:
        return _measure_anew(scene, dice) or Move("skip")
    return _plain(scene, dice)


def _measure_anew(scene: Scene, dice: Dice) -> Move | None:
    needed = needs_of(scene.step.value) if scene.step.value else ()
    givers = [step for name in needed if scene.route.step(step := scene.route.givers[name]).measure]
    if not givers or dice.tried[scene.step.step] == _MOST_TRIES:
        return None
    dice.tried[scene.step.step] += 1
    dice.anew.add(givers[-1])
    return _go_to(scene, givers[-1])


def _go_to(scene: Scene, step: str) -> Move:
    return Move(" ".join(words_of(f"go to step {scene.route.place(step) + 1}")))


def _first_the_missing(scene: Scene) -> Move | None:
    """Go to the step that gives a value that lacks; leave the step out where none on this way does."""
    wanted = scene.step.value
    lacking = missing(scene.route, scene.state, wanted) if wanted else ()
    if not lacking:
        return None
    giver = scene.route.givers.get(lacking[0])
    if giver is None or not is_open(scene.route, scene.state, scene.route.step(giver)):
        return Move("skip")
    return _go_to(scene, giver)


def _wait(scene: Scene, _dice: Dice) -> Move:
    """Start the time; do something else while it runs, where there is something; else let it pass."""
    timer = scene.state.timers.get(scene.step.step)
    if timer is None:
        return Move("start timer")
    if not timer.running:
        return Move("done")
    wait_s = scene.wait_s()
    return Move("", after_s=wait_s) if wait_s else Move("next")


ACTIONS: Final[Mapping[str, Rule]] = {
    "do": _plain,
    "tighten": _tighten,
    "measure": _measure,
    "work_out": _work_out,
    "wait": _wait,
    "check": _always("done"),
    "decide": _always("done"),
}
"""What is said at each kind of step where nothing is asked."""


def settle(scene: Scene, dice: Dice) -> Move | None:
    """Go over what a step left open although it is done: a position that is not final, a value out of its limits."""
    return _redo_position(scene) if scene.step.tighten else _measure_again(scene, dice)


def _redo_position(scene: Scene) -> Move | None:
    group = scene.step.tighten.group if scene.step.tighten else ""
    last = [step for step in scene.route.steps if step.tighten and step.tighten.group == group][-1]
    wanting = (
        position
        for (name, position), record in scene.state.ledger.items()
        if name == group and is_position_open(record) and last == scene.step
    )
    position = next(wanting, None)
    return None if position is None else Move(" ".join(words_of(f"number {position} again")))


def _measure_again(scene: Scene, dice: Dice) -> Move | None:
    measured = scene.state.measured.get(scene.step.step)
    stands = measured is None or measured.verdict in GOOD or scene.step.step in scene.state.accepted
    lacks_reading = scene.step.step in scene.state.readings
    if stands and not lacks_reading and scene.step.step not in dice.anew:
        return None
    dice.anew.discard(scene.step.step)
    words = say_value(scene, dice)
    return Move(words) if words else None
