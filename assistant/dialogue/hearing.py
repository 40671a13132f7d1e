"""What it says about its own hearing: that it hears nothing, too much or too little, that it must be called by name."""

from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.turn import Turn

_KEYS: Final = {
    "deaf": "hearing.deaf",
    "hears-again": "hearing.again",
    "too-strong": "hearing.too-strong",
    "too-faint": "hearing.too-faint",
    "name-needed": "hearing.name-needed",
    "name-free": "hearing.name-free",
}
_NOISY: Final = {
    "too-loud": ("hearing.too-loud", "hearing.too-loud-no-key"),
    "no-pause": ("hearing.no-pause", "hearing.no-pause-no-key"),
}
"""Where there is a key to talk, and where there is none."""


def on_told(turn: Turn, intent: Intent) -> None:
    """Say it once; it is not what "repeat" brings back."""
    turn.say(_KEYS[intent.name], **intent.slots)
    turn.passing = True


def on_noisy(turn: Turn, intent: Intent) -> None:
    """Say so, and name the key that lets one talk all the same, where there is one."""
    with_key, without = _NOISY[intent.name]
    if key := intent.slots.get("key"):
        turn.say(with_key, talk_key=key)
    else:
        turn.say(without)
    turn.passing = True


HANDLERS = dict.fromkeys(_KEYS, on_told) | dict.fromkeys(_NOISY, on_noisy)
