"""The errors that a user can meet: what is wrong, where, and what to do, in one line.

The command line prints `str(error)` and exits 2. Every room has one subclass, so that a
caller can tell the rooms apart; none of them ever means that something recorded was lost.
"""


class AssistantError(Exception):
    """Something a user can mend.

    `what` is wrong, `where` it is (a file and line, a step, a position), and what to `do`.
    """

    def __init__(self, what: str, *, where: str = "", do: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.do = do

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        remedy = f"; {self.do}" if self.do else ""
        return f"{place}{self.what}{remedy}"


class TorqueError(AssistantError):
    """A unit, value, order or plan that cannot be."""


class ProcedureError(AssistantError):
    """A procedure that cannot be read or does not make sense."""


class JobError(AssistantError):
    """A job or its journal that cannot be opened, held or written."""


class DialogueError(AssistantError):
    """A phrase, number or intent that the dialogue cannot use."""


class HearingError(AssistantError):
    """A sound source, grammar, engine or model that cannot be used."""


class SpeakingError(AssistantError):
    """A voice or a loudspeaker that cannot be used."""


class RecordError(AssistantError):
    """A record or a note that cannot be written or read."""


def not_utf8(error: UnicodeDecodeError) -> tuple[str, str]:
    """Say of bytes that are not UTF-8 what they are instead, with their first odd line, and what to do.

    Spreadsheets and older editors write UTF-16 or their country's encoding; what is none of these is no text.
    """
    do = "save it as UTF-8; editors and spreadsheets ask for the encoding under save as"
    if error.object.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "this is text in UTF-16", do
    if b"\0" in error.object:
        return "this is not a text file", ""
    line = error.object.count(b"\n", 0, error.start) + 1
    return f"line {line} has a letter that is not in UTF-8", do
