"""What is here and what is missing: engines, models, voices, devices, and what brings each."""

import importlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any

import numpy as np

from assistant.errors import HearingError
from assistant.hearing import echo
from assistant.hearing.clipping import is_broken
from assistant.hearing.engines import available, engines
from assistant.hearing.floor import loudness
from assistant.hearing.lasting import Open
from assistant.hearing.sources import BLOCK, MicrophoneSource
from assistant.sound import RATE, Samples
from assistant.speaking.engines import voices


@dataclass(frozen=True, kw_only=True)
class Row:
    """One thing that hearing or speaking can use: whether it is here, is used, and what brings it."""

    kind: str
    name: str
    here: str
    used: bool = False
    remedy: str = ""


def report() -> tuple[tuple[Row, ...], bool]:
    """Look at everything, and tell whether a job can be run (from the microphone, a recording or text)."""
    rows = (*_engines(), _canceller(), *_voices(), *_devices())
    return rows, any(row.used for row in rows if row.kind == "engine")


def _engines() -> Iterator[Row]:
    best = next(iter(available()), None)
    for entry in engines():
        missing = entry.missing()
        yield Row(
            kind="engine",
            name=f"{entry.name}: {entry.about}",
            here=f"no: {missing}" if missing else _with_revision(entry.revision()),
            used=best is not None and entry.name == best.name,
            remedy=entry.remedy if missing else "",
        )


def _canceller() -> Row:
    missing = echo.missing()
    return Row(
        kind="aid",
        name="echo canceller: stop words through a loudspeaker",
        here=f"no: {missing}" if missing else "yes",
        used=not missing,
        remedy=echo.REMEDY if missing else "",
    )


def _with_revision(revision: str) -> str:
    return f"yes, revision {revision}" if revision else "yes"


def _voices() -> Iterator[Row]:
    for place, entry in enumerate(voices()):
        missing = entry.missing()
        yield Row(
            kind="voice",
            name=f"{entry.name}: {entry.about}",
            here=f"no: {missing}" if missing else "yes",
            used=place == 0 and not missing,
            remedy=entry.remedy if missing else "",
        )


def _devices() -> Iterator[Row]:
    remedy = "plug one in; until then: --hear text or a recording, --speak text or a file"
    try:
        library = importlib.import_module("sounddevice")
        found = {kind: _device(library, kind) for kind in ("input", "output")}
    except (ImportError, OSError):
        found = dict.fromkeys(("input", "output"), "")
        remedy = "install PortAudio (Debian: apt install libportaudio2)"
    for kind, name in (("input", "microphone"), ("output", "loudspeaker")):
        here = found[kind]
        row = Row(kind="device", name=name, here=here or "no", used=bool(here), remedy="" if here else remedy)
        yield heard_now(row, MicrophoneSource) if here and kind == "input" else row


def heard_now(row: Row, open_microphone: Open) -> Row:
    """Listen for a second, and give the microphone's row with what comes in, and what to do where that is no good.

    Whether a voice comes in too faint is told at work: here nobody speaks.
    """
    try:
        with open_microphone() as microphone:
            sound = np.concatenate([*islice(microphone.blocks(), round(RATE / BLOCK))])
    except HearingError as error:
        return replace(row, here=f"{row.here}, {error.what}", used=False, remedy=error.do)
    now, remedy = _level(sound)
    return replace(row, here=f"{row.here}, {now}", remedy=remedy)


def _level(sound: Samples) -> tuple[str, str]:
    """Give what comes in, and what to do where that is no good."""
    if not np.any(sound):
        return "it gives no sound", "switch it on, or allow this program to use it"
    level = f"{loudness(sound):.0f} dB now"
    return (f"{level}, broken", "turn it down, or hold it further away") if is_broken(sound) else (level, "")


def _device(library: Any, kind: str) -> str:
    """Name the device that would be used, or "" where there is none."""
    try:
        return str(library.query_devices(kind=kind)["name"])
    except (ValueError, OSError, library.PortAudioError):
        return ""
