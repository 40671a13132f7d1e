"""Two minutes in which a mechanic reads commands, so that the voice becomes known."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import date
from pathlib import Path
from typing import Final

from assistant.errors import HearingError
from assistant.hearing.ear import Ear, listen
from assistant.hearing.grammar import Grammar, combined, load_grammar, modes, words_of
from assistant.hearing.opening import open_recogniser
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.hearing.sources import FileSource, MicrophoneSource, Source
from assistant.sound import RATE
from assistant.work.voices import KnownVoice, keep, learn, refuse_unmeasured

COMMANDS: Final = (
    *("done", "next", "repeat", "back", "where am I", "how many left", "what is open", "which tool"),
    *("number four done", "number twelve done", "number seven again", "all done", "clicked", "what torque"),
    *("measured point two five millimetres", "measured thirty five thou", "start timer", "how long left"),
    *("yes", "no", "cancel", "undo", "skip", "take a note"),
)
"""What is read: every kind of command, and numbers."""

_PATIENCE_S: Final = 8.0
"""So long it waits for each command before it goes on."""

_SOUNDS: Final = frozenset({".wav", ".flac"})


def read_commands(
    name: str, hear: Path | None, *, engine: str | None, model: Path | None, show: Callable[[str], None]
) -> tuple[KnownVoice, Path]:
    """Have the commands read, by microphone or from recordings, and keep the voice; gives it and its file.

    `hear` is a recording of all of it in any order, or a folder of recordings, each called by what is read in it.
    `show` tells what to read and how it went. Raises HearingError where too little is heard right.
    """
    recogniser = open_recogniser(engine, model=model)
    refuse_unmeasured(recogniser.engine.name)  # before two minutes are read for nothing
    grammar = combined([load_grammar(mode) for mode in modes()], "all")
    if hear is None:
        right = list(_prompted(recogniser, grammar, show))
    elif hear.is_dir():
        right = list(_from_folder(hear, recogniser, grammar))
    else:
        right = [each for each in _heard(FileSource(hear), recogniser, grammar) if _command_in(each, grammar)]
    voice = learn(name, recogniser.engine.name, right, today=date.today())  # noqa: DTZ011 - the mechanic's day
    return voice, keep(voice)


def _heard(source: Source, recogniser: Recogniser, grammar: Grammar) -> Iterator[Recognised]:
    return listen(source, recogniser, lambda: grammar)


def _command_in(heard: Recognised, grammar: Grammar) -> bool:
    """Tell whether it is one of those to be read; where it is read twice, both count."""
    return any(_is(heard, command, grammar) for command in COMMANDS)


def _is(heard: Recognised, command: str, grammar: Grammar) -> bool:
    said, meant = grammar.match(heard.heard), grammar.match(words_of(command))
    return said is not None and meant is not None and said.intents == meant.intents


def _from_folder(folder: Path, recogniser: Recogniser, grammar: Grammar) -> Iterator[Recognised]:
    files = sorted(path for path in folder.iterdir() if path.suffix.lower() in _SOUNDS)
    if not files:
        raise HearingError("there is no recording here", where=str(folder), do="give WAV or FLAC files")
    for path in files:
        command = path.stem.replace("-", " ").replace("_", " ")
        yield from (
            each for each in _heard(FileSource(path), recogniser, grammar) if _is(each, command, grammar)
        )


def _prompted(recogniser: Recogniser, grammar: Grammar, show: Callable[[str], None]) -> Iterator[Recognised]:
    with ExitStack() as stack:
        source = stack.enter_context(MicrophoneSource())
        yield from prompted(source, recogniser, grammar, show)


def prompted(
    source: Source, recogniser: Recogniser, grammar: Grammar, show: Callable[[str], None]
) -> Iterator[Recognised]:
    """Ask for the commands one by one, and give those that were heard right; none is waited for forever."""
    waiting, waited = list(COMMANDS), 0
    ear = Ear(recogniser=recogniser, grammar_now=lambda: grammar)
    show(f"Say: {waiting[0]}")
    for block in source.blocks():
        waited += len(block)
        found = ear.push(block)
        right = [each for each in found if _is(each, waiting[0], grammar)]
        yield from right
        if found and not right:
            show("  (not understood; the next)")
        if found or waited > _PATIENCE_S * RATE:
            del waiting[0]
            waited = 0
            if not waiting:
                return
            show(f"Say: {waiting[0]}")
