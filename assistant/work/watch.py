"""Who looks on: everything heard, said and recorded, for a console, for a program, for the page."""

import json
from collections.abc import Sequence
from typing import Any, Final, Protocol, TextIO

from rich.console import Console
from rich.control import Control
from rich.segment import ControlType

from assistant.dialogue.reply import Reply
from assistant.hearing.recogniser import Recognised
from assistant.job.events import Entry
from assistant.work.listening import as_row

_START_OF_LINE: Final = Control(ControlType.CARRIAGE_RETURN, (ControlType.ERASE_IN_LINE, 2))
_START_OF_LINE_KEPT: Final = Control(ControlType.CARRIAGE_RETURN)


class Watcher(Protocol):
    """Is told of everything that goes on, as it happens."""

    def hearing(self, words: str) -> None:
        """Show or pass on what is heard so far; it may still change, and `heard` tells what it came to."""
        ...

    def heard(self, heard: Recognised) -> None:
        """Show or pass on what was said to the assistant."""
        ...

    def recorded(self, entries: Sequence[Entry]) -> None:
        """Show or pass on events that are on disk."""
        ...

    def said(self, words: str, reply: Reply) -> None:
        """Show or pass on what the assistant answers."""
        ...


class ConsoleWatcher:
    """Shows heard and said, line by line."""

    def __init__(self, console: Console, *, speaks: bool = True) -> None:
        self._console = console
        self._speaks = speaks

    def hearing(self, words: str) -> None:
        """Show what is heard so far, on a terminal; what is shown next takes its place."""
        if self._console.is_terminal:
            self._console.control(_START_OF_LINE)
            self._console.print(f"[dim]{'...':>7}  {words}[/]", end="", highlight=False)
            self._console.control(_START_OF_LINE_KEPT)

    def heard(self, heard: Recognised) -> None:
        """Show what was heard, and whether it counts."""
        mark = "heard" if heard.accepted else "unsure" if heard.asked else "talk"
        words = " ".join(heard.heard) or "(nothing that makes sense here)"
        if self._console.is_terminal:
            self._console.control(_START_OF_LINE)
        self._console.print(f"[bold]{mark:>7}[/]  {words}", highlight=False)

    def recorded(self, entries: Sequence[Entry]) -> None:
        """Show nothing; the answer tells."""

    def said(self, words: str, reply: Reply) -> None:
        """Show what is said, with the tone before it."""
        tone = f"({reply.tone}) " if reply.tone else ""
        if words or tone:
            self._console.print(f"[dim]{'said':>7}[/]  {tone}{words}", highlight=False, markup=True)


class JsonWatcher:
    """Writes one JSON object a line for everything heard, said and recorded."""

    def __init__(self, out: TextIO) -> None:
        self._out = out

    def hearing(self, words: str) -> None:
        """Write what is heard so far."""
        self._write({"type": "hearing", "words": words})

    def heard(self, heard: Recognised) -> None:
        """Write what was heard."""
        self._write({"type": "heard", **as_row(heard)})

    def recorded(self, entries: Sequence[Entry]) -> None:
        """Write each event as the journal has it."""
        for entry in entries:
            self._write({"type": "recorded", **entry.model_dump(mode="json")})

    def said(self, words: str, reply: Reply) -> None:
        """Write what is said, with the tone before it."""
        self._write({"type": "said", "words": words, "tone": reply.tone})

    def _write(self, row: dict[str, Any]) -> None:
        self._out.write(json.dumps(row, ensure_ascii=False) + "\n")
        self._out.flush()
