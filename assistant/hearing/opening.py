"""Opening what hears: the recogniser by the name of its engine."""

from pathlib import Path

from assistant.hearing.engines import open_engine
from assistant.hearing.recogniser import Recogniser


def open_recogniser(name: str | None = None, *, model: Path | None = None) -> Recogniser:
    """Open an engine, by default the best that is here; `model` is its model's folder.

    Raises HearingError for an unknown name, a missing model, or a folder that is none.
    """
    return Recogniser(open_engine(name, model=model))
