"""Recognising recordings without a job: what was heard in them, utterance by utterance."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from assistant.dialogue.names import names_of
from assistant.hearing.ear import listen
from assistant.hearing.grammar import Grammar, combined, load_grammar, modes
from assistant.hearing.opening import open_recogniser
from assistant.hearing.recogniser import Recognised
from assistant.hearing.sources import FileSource
from assistant.procedure.load import find_procedure, load_procedure
from assistant.procedure.route import route_through


def listen_to(
    files: Iterable[Path], *, mode: str | None, procedure: str | None, engine: str | None, model: Path | None
) -> Iterator[dict[str, Any]]:
    """Give a row for each utterance in the files. Raises HearingError for what cannot be read or used."""
    sources = [(path, FileSource(path)) for path in files]
    grammar = _grammar(mode, procedure)
    recogniser = open_recogniser(engine, model=model)
    for path, source in sources:
        for heard in listen(source, recogniser, lambda: grammar):
            yield {"file": str(path), **as_row(heard)}


def _grammar(mode: str | None, procedure: str | None) -> Grammar:
    """Give the grammar of a mode, or of all of them together, with the names of a procedure."""
    names = names_of(route_through(load_procedure(find_procedure(procedure)))) if procedure else {}
    if mode:
        return load_grammar(mode, names)
    return combined([load_grammar(each, names) for each in modes()], "all")


def as_row(heard: Recognised) -> dict[str, Any]:
    """Give an utterance as plain values, ready for JSON.

    `intent` and `slots` are those of the first thing meant, `intents` has them all; null where nothing
    was accepted.
    """
    intents = [{"intent": intent.name, "slots": dict(intent.slots)} for intent in heard.intents]
    first = intents[0] if heard.accepted and intents else {"intent": None, "slots": None}
    return {
        "start_s": round(heard.start_s, 3),
        "end_s": round(heard.end_s, 3),
        "heard": " ".join(heard.heard),
        **first,
        "intents": intents if heard.accepted else None,
        "accepted": heard.accepted,
        "confidence": round(heard.confidence, 3),
        "engine": heard.engine,
        "decode_s": round(heard.decode_s, 3),
        "why": heard.why,
    }
