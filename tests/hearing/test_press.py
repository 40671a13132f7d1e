"""Push to talk."""

import numpy as np
import pytest

from assistant.hearing.endpointing import BLOCK_S
from assistant.hearing.press import LET_GO_S, LONGEST_S, REPEAT_S, Press, Pressed
from assistant.sound import Samples


class Hands:
    """A clock that is moved by hand, and the key."""

    def __init__(self) -> None:
        self.now = 100.0
        self.press = Press(now=lambda: self.now)

    def key_at(self, *seconds: float) -> None:
        """Press the key, or let it repeat, at these times."""
        for second in seconds:
            self.now = 100.0 + second
            self.press.key()

    def is_on_at(self, second: float) -> bool:
        """Look at a time."""
        self.now = 100.0 + second
        return self.press.is_on


def test_two_presses_begin_and_end() -> None:
    """What is said between two presses counts."""
    hands = Hands()
    assert not hands.press.is_on
    hands.key_at(0)
    assert hands.is_on_at(2)
    hands.key_at(2.5)
    assert not hands.is_on_at(2.6)


def test_a_held_key_ends_when_it_is_let_go() -> None:
    """A held key repeats; when the repeats stop, it was let go."""
    hands = Hands()
    hands.key_at(0, 0.5, *(0.5 + 0.05 * repeat for repeat in range(1, 20)))
    assert hands.is_on_at(1.5)
    assert not hands.is_on_at(1.5 + LET_GO_S)


def test_a_single_press_is_not_ended_by_waiting_for_repeats() -> None:
    """A pedal that is tapped once stays on."""
    hands = Hands()
    hands.key_at(0)
    assert hands.is_on_at(REPEAT_S + 1)


def test_a_forgotten_key_ends_by_itself() -> None:
    """After a while it is off, and the next press begins anew."""
    hands = Hands()
    hands.key_at(0)
    assert not hands.is_on_at(LONGEST_S + 0.1)
    hands.key_at(LONGEST_S + 5)
    assert hands.is_on_at(LONGEST_S + 6)


class Scripted:
    """A detector that takes a block's level for the probability of speech."""

    def probability(self, block: Samples) -> float:
        """Give the level."""
        return float(block[0])

    def reset(self) -> None:
        """Nothing to forget."""


@pytest.mark.parametrize(
    ("levels", "first", "last"),
    [((0, 0.3, 0.9, 0.3, 0), 1, 3), ((0, 0, 0, 0, 0), 0, 4), ((0.3, 0, 0, 0, 0), 0, 0)],
)
def test_where_the_speech_lies_between_the_presses(levels: tuple[float, ...], first: int, last: int) -> None:
    """Less than usual is asked of speech, and none at all is taken for all of it."""
    pressed = Pressed(Scripted(), 10)
    for level in levels:
        pressed.push(np.full(512, level, np.float32))
    utterance = pressed.utterance()
    assert len(utterance.samples) == 5 * 512
    assert utterance.start_s == pytest.approx((10 + first) * BLOCK_S)
    assert utterance.end_s == pytest.approx((10 + last + 1) * BLOCK_S)
