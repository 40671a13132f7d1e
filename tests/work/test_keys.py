"""Keys and pedals."""

import os
import sys
import time
from pathlib import Path

import pytest

from assistant.errors import AssistantError
from assistant.hearing.grammar import combined, load_grammar, modes, words_of
from assistant.work.habits import parse_habits
from assistant.work.keys import KEYS, TALK, check_keys, keys_in, terminal_keys

ALL = combined([load_grammar(mode) for mode in modes()], "all")


def can_be_said(act: str) -> bool:
    """Tell whether any grammar has it."""
    return ALL.match(words_of(act)) is not None


SENT = [
    (b" ", ["space"]),
    (b"\r", ["enter"]),
    (b"\x1b[6~", ["page down"]),
    (b"  \x1b[5~\nB", ["space", "space", "page up", "enter", "b"]),
    (b"\x1b", ["escape"]),
    (b"\x1b[99~", []),
    (b"\x1bOP\x1b[[A\x1b[11~", ["f1", "f1", "f1"]),
    (b"\x1b[17~\x1b[24~", ["f6", "f12"]),
    (b"\x1bOH\x1b[4~\x1b[3~", ["home", "end", "delete"]),
    (b".-B", [".", "-", "b"]),
    (b"\xc3\xa9", []),
    (b"", []),
]


@pytest.mark.parametrize(("data", "keys"), SENT)
def test_the_keys_that_a_terminal_sends(data: bytes, keys: list[str]) -> None:
    """Each key has one name, and what is not known is no key."""
    assert list(keys_in(data)) == keys


def test_the_usual_keys_stand_for_commands() -> None:
    """The table that comes with the program passes its own check."""
    check_keys(KEYS, can_be_said)
    assert TALK in KEYS.values()


@pytest.mark.parametrize(
    ("key", "act", "told"),
    [("pedal", "next", "no key"), ("A", "next", "no key"), ("a", "dance", "no command")],
)
def test_a_wrong_key_or_command_is_told(key: str, act: str, told: str) -> None:
    """A mistake in the shop's habits is told before a job begins."""
    with pytest.raises(AssistantError, match=told):
        check_keys({key: act}, can_be_said)


@pytest.mark.parametrize(
    ("keys", "called"),
    [
        ("{}", "the space bar"),
        ("{enter: repeat}", "the space bar"),
        ("{space: next, f5: talk}", "the key f5"),
        ("{a: talk}", "the key a"),
        ("{space: next}", ""),
    ],
)
def test_the_key_to_talk_is_named_as_the_shop_has_it(keys: str, called: str) -> None:
    """What is told in noise names the shop's own key, and no key where the shop has none."""
    assert parse_habits(f"keys: {keys}\n", name="habits.yaml").talk_key == called


def test_a_shops_habits_are_read() -> None:
    """The name and the keys of the shop's own file, beside the usual keys."""
    habits = parse_habits("call_name: workbench\nkeys:\n  a: talk\n  page down: done\n", name="habits.yaml")
    assert habits.call_name == "workbench"
    assert habits.all_keys["a"] == TALK
    assert habits.all_keys["page down"] == "done"
    assert habits.all_keys["enter"] == "next"


def test_a_mistake_in_the_habits_is_told_with_its_line() -> None:
    """The line, and what was meant."""
    with pytest.raises(AssistantError, match=r"habits\.yaml.*line 1.*call_name"):
        parse_habits("cal_name: workbench\n", name="habits.yaml")


@pytest.mark.skipif(sys.platform == "win32", reason="terminals are read otherwise there, and not yet")
def test_a_terminal_is_read_key_by_key_and_given_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """A press comes through without the end of a line, and the terminal is afterwards as it was."""
    import pty  # noqa: PLC0415
    import termios  # noqa: PLC0415

    hand, terminal = pty.openpty()
    with os.fdopen(terminal, "r") as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        before = termios.tcgetattr(terminal)
        with terminal_keys() as keys:
            os.write(hand, b"\x1b[6~ ")
            found: list[str] = []
            for _ in range(200):
                found += keys.get()
                if len(found) == 2:
                    break
                time.sleep(0.05)
        assert found == ["page down", "space"]
        assert termios.tcgetattr(terminal) == before
    os.close(hand)


def test_without_a_terminal_there_are_no_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    """A job that is run by another program is not disturbed."""
    with Path(os.devnull).open() as nothing:
        monkeypatch.setattr(sys, "stdin", nothing)
        with terminal_keys() as keys:
            assert list(keys.get()) == []
