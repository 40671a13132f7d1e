"""Writing down free speech, offline: what a spoken note says, for whoever would rather read.

Commands are heard by `hearing.engines` within a grammar; this is the other thing, speech about anything
and of any length. Three writers, the best first; the text is a help, the sound is what counts.
"""

import importlib
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final, Protocol

import numpy as np

from assistant.errors import HearingError
from assistant.hearing import weights
from assistant.sound import RATE, Samples

_FULL_SCALE: Final = 32_767


class Writer(Protocol):
    """Writes speech down. `rough` where it is known to guess more than it hears."""

    name: str
    rough: bool

    def write_down(self, samples: Samples) -> str:
        """Give the words of samples of shape (n,), float32, 16,000 a second; "" where none are heard."""
        ...


class WhisperWriter:
    """Whisper base, half a minute at a time, with its usual decoding."""

    name = "whisper"
    rough = False

    def __init__(self, model: Path | None = None) -> None:
        # The library brings a media framework with it, which nothing else here needs.
        faster_whisper: Any = importlib.import_module("faster_whisper")
        self._model = faster_whisper.WhisperModel(
            str(weights.weights(model)), device="cpu", compute_type="int8", local_files_only=True
        )

    def write_down(self, samples: Samples) -> str:
        """Give the words; one temperature, so that the same sound always gives the same words."""
        pieces, _ = self._model.transcribe(
            samples,
            language="en",
            beam_size=5,
            temperature=0.0,
            condition_on_previous_text=False,
            without_timestamps=len(samples) <= _WINDOW_S * RATE,
        )
        return " ".join(" ".join(piece.text for piece in pieces).split())


_WINDOW_S: Final = 30


class VoskWriter:
    """Vosk with the full vocabulary of its model."""

    name = "vosk"
    rough = False

    def __init__(self, model: Path | None = None) -> None:
        engine: Any = importlib.import_module("assistant.hearing.engines.vosk")
        self._model = engine.VoskEngine(model).model
        self._vosk: Any = importlib.import_module("vosk")

    def write_down(self, samples: Samples) -> str:
        """Give the words, in small letters and without stops, as the model has them."""
        recogniser = self._vosk.KaldiRecognizer(self._model, RATE)
        pieces = np.array_split(_pcm(samples), max(1, len(samples) // RATE))
        # What is said in one breath ends where the recogniser says so, and is fetched then.
        said = [recogniser.Result() for piece in pieces if recogniser.AcceptWaveform(piece.tobytes())]
        texts = (json.loads(result).get("text", "") for result in (*said, recogniser.FinalResult()))
        return " ".join(" ".join(texts).split())


class PocketsphinxWriter:
    """PocketSphinx with the language model of its wheel: always there, and rough."""

    name = "pocketsphinx"
    rough = True

    def __init__(self, _model: Path | None = None) -> None:
        self._library: Any = importlib.import_module("pocketsphinx")

    def write_down(self, samples: Samples) -> str:
        """Give the words, in small letters and without stops."""
        if not len(samples):
            return ""  # the library reads past the end of an empty buffer
        decoder = self._library.Decoder(loglevel="FATAL")
        decoder.start_utt()
        decoder.process_raw(_pcm(samples).tobytes(), full_utt=True)
        decoder.end_utt()
        best = decoder.hyp()
        return str(best.hypstr) if best is not None else ""


def _pcm(samples: Samples) -> Any:
    return (np.clip(samples, -1, 1) * _FULL_SCALE).astype(np.int16)


WRITERS: Final[Mapping[str, Callable[[Path | None], Writer]]] = {
    "whisper": WhisperWriter,
    "vosk": VoskWriter,
    "pocketsphinx": PocketsphinxWriter,
}
"""Every writer by name, the best first; each has the model of the engine of its name."""


def open_writer(name: str | None = None, *, model: Path | None = None) -> Writer:
    """Open a writer by name, by default the best whose model is here.

    Raises HearingError for an unknown name or a missing model.
    """
    if name is not None and name not in WRITERS:
        raise HearingError(
            f"nothing called {name!r} writes down speech", do=f"name one of {', '.join(WRITERS)}"
        )
    chosen = name or next((each for each in WRITERS if not _missing(each)), "pocketsphinx")
    return WRITERS[chosen](model)


def _missing(name: str) -> str:
    try:
        return str(importlib.import_module(f"assistant.hearing.engines.{name}").missing())
    except (ImportError, OSError) as error:
        return str(error)
