"""What it says about its own hearing: that it hears nothing, too much or too little, that it must be called by name."""

from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.turn import Turn

_KEYS: Final = {
    "deaf": "hearing.deaf",
    "hears-again": "hearing.again",
    "too-loud": "hearing.too-loud",
    "no-pause": "hearing.no-pause",
    "too-strong": "hearing.too-strong",
    "too-faint": "hearing.too-faint",
    "name-needed": "hearing.name-needed",
    "name-free": "hearing.name-free",
}


def on_told(turn: Turn, intent: Intent) -> None:
    """Say it once; it is not what "repeat" brings back."""
    turn.say(_KEYS[intent.name], **intent.slots)
    turn.passing = True


HANDLERS = dict.fromkeys(_KEYS, on_told)
