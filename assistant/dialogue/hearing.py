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


def on_told(turn: Turn, intent: Intent) -> None:
    """Say it once; it is not what "repeat" brings back."""
    turn.say(_KEYS[intent.name], **intent.slots)
    turn.passing = True


def on_too_loud(turn: Turn, intent: Intent) -> None:
    """Say so, and name the key that lets one talk all the same, where there is one."""
    if key := intent.slots.get("key"):
        turn.say("hearing.too-loud", talk_key=key)
    else:
        turn.say("hearing.too-loud-no-key")
    turn.passing = True


HANDLERS = {**dict.fromkeys(_KEYS, on_told), "too-loud": on_too_loud}
