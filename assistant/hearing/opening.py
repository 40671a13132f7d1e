"""Opening what hears: the recogniser by its name, and with it the second one that it asks where it is in doubt."""

from pathlib import Path
from types import MappingProxyType
from typing import Final

from assistant.hearing.engine import Engine
from assistant.hearing.engines import open_engine
from assistant.hearing.recogniser import Recogniser

SECONDS: Final = MappingProxyType({"whisper-shop": "pocketsphinx"})
"""By the engine's name, whom it asks; engines without one have none that was found to help (see README's table)."""


def open_recogniser(name: str | None = None, *, model: Path | None = None) -> Recogniser:
    """Open an engine, by default the best that is here, with its second opinion; `model` is its model's folder.

    Raises HearingError for an unknown name, a missing model, or a folder that is none.
    """
    engine = open_engine(name, model=model)
    return Recogniser(engine, second=second_of(engine))


def second_of(engine: Engine) -> Engine | None:
    """Open the engine that is asked where this one is in doubt, if it has one."""
    second = SECONDS.get(engine.name)
    return open_engine(second) if second else None
