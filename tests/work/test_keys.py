"""Keys and pedals."""

import pytest

from assistant.errors import AssistantError
from assistant.hearing.grammar import combined, load_grammar, modes, words_of
from assistant.work.habits import parse_habits
from assistant.work.keys import KEYS, TALK, check_keys, keys_in

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


@pytest.mark.parametrize(("key", "act", "told"), [("pedal", "next", "no key"), ("a", "dance", "no command")])
def test_a_wrong_key_or_command_is_told(key: str, act: str, told: str) -> None:
    """A mistake in the shop's habits is told before a job begins."""
    with pytest.raises(AssistantError, match=told):
        check_keys({key: act}, can_be_said)


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
