"""Keys and pedals: push to talk, and commands for when nothing can be heard at all.

Pedals and presenters are keyboards to a computer. The keys of the terminal are read one by one while a job
runs by microphone; what each does stands in a table that the shop's habits can change.
"""

import os
import queue
import select
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from types import MappingProxyType
from typing import Final

from assistant.errors import AssistantError

TALK: Final = "talk"
"""What a key does that is not a command: what is said between two presses of it counts."""

KEYS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "space": TALK,
        "enter": "next",
        # Presenters, and pedals made for turning pages, send these two; common practice, no source.
        "page down": "done next",
        "page up": "repeat",
    }
)
"""What each key does where the shop has not said otherwise: TALK, or a command in its words."""

# What terminals send for keys without a letter: ECMA-48 control sequences as xterm has them; from memory.
_SEQUENCES: Final[Mapping[bytes, str]] = MappingProxyType(
    {
        b"\x1b[5~": "page up",
        b"\x1b[6~": "page down",
        b"\x1b[A": "up",
        b"\x1b[B": "down",
        b"\x1b[C": "right",
        b"\x1b[D": "left",
        **dict.fromkeys((b"\x1b[H", b"\x1bOH", b"\x1b[1~"), "home"),
        **dict.fromkeys((b"\x1b[F", b"\x1bOF", b"\x1b[4~"), "end"),
        b"\x1b[2~": "insert",
        b"\x1b[3~": "delete",
        **{b"\x1bO" + bytes([code]): f"f{number}" for number, code in enumerate(b"PQRS", start=1)},
        **{b"\x1b[[" + bytes([code]): f"f{number}" for number, code in enumerate(b"ABCDE", start=1)},
        **{
            b"\x1b[%d~" % code: f"f{number}"
            for number, code in enumerate((11, 12, 13, 14, 15, 17, 18, 19, 20, 21, 23, 24), start=1)
        },
        b"\r": "enter",
        b"\n": "enter",
        b"\t": "tab",
        b" ": "space",
        b"\x7f": "backspace",
        b"\x1b": "escape",
    }
)
NAMES: Final = frozenset(_SEQUENCES.values())
"""The keys that have a name; any other key is called by its letter, figure or sign."""

_CALLED: Final[Mapping[str, str]] = MappingProxyType({"space": "the space bar"})
"""What keys are called where that is not just their name."""

_LOOK_S: Final = 0.2
_MOST_BYTES: Final = 64


def keys_in(data: bytes) -> Iterator[str]:
    """Give the keys that a terminal sent, by name; a sequence that is not known is no key."""
    while data:
        known = next(
            (each for each in sorted(_SEQUENCES, key=len, reverse=True) if data.startswith(each)), None
        )
        if known == b"\x1b" and len(data) > 1:
            return
        if known is not None:
            yield _SEQUENCES[known]
        elif is_sign(data[:1].decode("latin-1")):
            yield data[:1].decode().lower()
        data = data[len(known or b"?") :]


def called(key: str) -> str:
    """Say what a key is called, in a sentence."""
    return _CALLED.get(key, f"the key {key}")


def is_sign(key: str) -> bool:
    """Tell whether a key is called by what it types: a letter, figure or sign that every keyboard has."""
    return len(key) == 1 and key.isascii() and key.isprintable() and key != " "


def check_keys(keys: Mapping[str, str], can_be_said: Callable[[str], bool]) -> None:
    """Raise AssistantError for a key that there is not, and for what no command says."""
    for key, act in keys.items():
        if key not in NAMES and not (is_sign(key) and key == key.lower()):
            known = ", ".join(sorted(NAMES))
            raise AssistantError(
                f"there is no key {key!r}", do=f"name one of {known}, a letter, a figure or a sign"
            )
        if act != TALK and not can_be_said(act):
            raise AssistantError(
                f"{act!r}, which the key {key!r} stands for, is no command", do=f"write one, or {TALK}"
            )


class Keys:
    """The keys that were pressed and not yet looked at. The terminal's thread puts, hearing's thread gets."""

    def __init__(self) -> None:
        self._pressed: queue.SimpleQueue[str] = queue.SimpleQueue()

    def put(self, key: str) -> None:
        """Add a press."""
        self._pressed.put(key)

    def get(self) -> Iterator[str]:
        """Give the presses since the last look, in order."""
        while not self._pressed.empty():
            yield self._pressed.get()


@contextmanager
def terminal_keys() -> Iterator[Keys]:
    """Read the terminal's keys one by one, without waiting for the end of a line; none where there is no terminal."""
    keys = Keys()
    try:
        import termios  # noqa: PLC0415 - not on every system
        import tty  # noqa: PLC0415
    except ImportError:
        yield keys
        return
    if not sys.stdin.isatty():
        yield keys
        return
    number = sys.stdin.fileno()
    before = termios.tcgetattr(number)
    ended = threading.Event()
    reader = threading.Thread(target=_read, args=(number, keys, ended), name="keys", daemon=True)
    tty.setcbreak(number)
    reader.start()
    try:
        yield keys
    finally:
        ended.set()
        reader.join()
        termios.tcsetattr(number, termios.TCSADRAIN, before)


def _read(number: int, keys: Keys, ended: threading.Event) -> None:
    while not ended.is_set():
        if select.select([number], [], [], _LOOK_S)[0]:
            data = os.read(number, _MOST_BYTES)
            if not data:
                return
            for key in keys_in(data):
                keys.put(key)
