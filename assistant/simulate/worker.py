"""The simulated mechanic of a rehearsal: works by the rules of `answers`, slips, interrupts, and gets stuck."""

import random
from dataclasses import dataclass, replace
from typing import Final

from assistant.dialogue.modes import mode_of
from assistant.job.way import is_open, open_steps
from assistant.simulate.answers import ACTIONS, ANSWERS, settle
from assistant.simulate.measured_said import said, values
from assistant.simulate.scene import Dice, Move, Scene

_WORK_S: Final = {"do": 90.0, "tighten": 12.0, "measure": 60.0, "work_out": 20.0, "check": 20.0}
"""How long the work before a word takes: invented, so that time passes; the pace varies it."""

_MODES: Final = {
    "note": Move("end note", after_s=8.0),
    "paused": Move("resume", after_s=600.0),
    "played": Move("stop"),
}

_BETWEEN: Final = (
    "where am i",
    "repeat",
    "how many left",
    "how much longer",
    "how long left",
    "what is open",
    "what did i do last",
    "what did i measure",
    "from which numbers",
    "tool",
    "say the caution",
    "help",
    "slower",
    "back",
    "take a note",
    "last note",
    "take a break",
    "torque",
    "what order",
    "count me through",
    "wait",
    "which one",
    "undo",
)
"""What comes in between, where it can be said."""


@dataclass(frozen=True, kw_only=True)
class Habits:
    """How a mechanic is: how often a slip and how often something in between is said, and the pace of the work."""

    mistakes: float = 0.08
    between: float = 0.12
    pace: float = 1.0


class Worker:
    """One mechanic on one walk; equal seeds and equal answers give an equal walk."""

    def __init__(self, rng: random.Random, habits: Habits) -> None:
        self._habits = habits
        self._dice = Dice(rng, habits.mistakes)

    def move(self, scene: Scene) -> Move:
        """Give what is done next."""
        return self._slip(scene) or self._between(scene) or self._work(scene)

    def at_a_loss(self, scene: Scene, *, give_up: bool) -> Move:
        """Give what is said where nothing helped: anything that can be said; at last the step is left out."""
        if scene.state.question is not None and scene.can_say("cancel"):
            return Move("cancel", "at a loss")
        way_out = "skip" if is_open(scene.route, scene.state, scene.step) else "next"
        return Move(way_out if give_up and scene.can_say(way_out) else self._any(scene), "at a loss")

    def _work(self, scene: Scene) -> Move:
        mode = mode_of(scene.route, scene.state)
        if mode in _MODES:
            return _MODES[mode]
        if scene.state.question is not None:
            return ANSWERS[scene.state.question.name](scene, self._dice)
        if scene.state.helping:
            return Move("stop", after_s=30.0)
        return self._at_step(scene)

    def _at_step(self, scene: Scene) -> Move:
        if is_open(scene.route, scene.state, scene.step) or scene.acts_left():
            move = ACTIONS[scene.step.action](scene, self._dice)
            return replace(move, after_s=move.after_s or self._work_s(scene.step.action))
        if unsettled := settle(scene, self._dice):
            return unsettled
        if not open_steps(scene.route, scene.state):
            return Move("finish")
        wait_s = scene.wait_s()
        return Move("", after_s=wait_s) if wait_s else Move("next")

    def _work_s(self, action: str) -> float:
        return _WORK_S.get(action, 5.0) * self._habits.pace * self._dice.rng.uniform(0.7, 1.3)

    def _slip(self, scene: Scene) -> Move | None:
        """Say something wrong: a number that is not the measured one, or a bolt out of its turn."""
        if not self._dice.falls(self._habits.mistakes):
            return None
        words = {"tighten": self._wrong_bolt, "measure": self._wrong_number}.get(
            mode_of(scene.route, scene.state), lambda _scene: ""
        )(scene)
        return Move(words, "mistake") if words and scene.can_say(words) else None

    def _wrong_bolt(self, scene: Scene) -> str:
        others = [act.position for act in scene.acts_left()[1:]]
        return f"number {self._dice.rng.choice(others)} done" if others else ""

    def _wrong_number(self, scene: Scene) -> str:
        value = next(values(scene, self._dice, good=True), None)
        words = said(value, scene.grammar) if value is not None else None
        if words:
            self._dice.slipped.add(scene.step.step)
        return words or ""

    def _between(self, scene: Scene) -> Move | None:
        """Say something in between, but not at the very beginning, and not when the job is about to be closed."""
        asked = scene.state.question.name if scene.state.question else ""
        if asked in {"begin", "close", "close-open"} or not self._dice.falls(self._habits.between):
            return None
        fitting = [words for words in _BETWEEN if scene.can_say(words)]
        return Move(self._dice.rng.choice(fitting), "between") if fitting else None

    def _any(self, scene: Scene) -> str:
        """Draw a phrase of the active grammar, word by word."""
        words: list[str] = []
        while following := sorted(scene.grammar.next_words(words)):
            if scene.grammar.is_whole(words) and self._dice.falls(0.5):
                break
            words.append(self._dice.rng.choice(following))
        return " ".join(words)
