"""What a mechanic can mean: the closed list of intents, and the slots that each may carry.

Grammars name these intents in their tags; a test holds the two lists against each other.
Slots carry the words that were spoken ("point zero three five"); `dialogue.numbers` turns
them into values, so that a wrong number can be asked about in the mechanic's own words.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from pydantic import BaseModel, ConfigDict, model_validator

from assistant.errors import DialogueError

SPOKEN: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        # the way through the procedure
        "next": (),  # read the step that follows
        "back": (),  # read the step before
        "repeat": (),  # say that again
        "where": (),  # where am I
        "go-to": ("step",),  # read another step; changes nothing
        "reopen": ("step",),  # a step is to be done again
        "last": (),  # what did I do last
        "time-left": (),  # how much longer
        "done": (),  # what was asked for now is done
        "skip": (),  # leave this step out (asks for a reason)
        "undo": (),  # take back the last thing recorded
        "finish": (),  # close the job
        # tightening
        "torque": ("group",),  # which value, now or of a group by name
        "sequence": ("group",),  # which order, now or of a group by name
        "position-done": ("position",),  # "number four done"
        "correct": ("position",),  # "no, number four": not the one that was recorded last
        "all-done": (),  # every position of this pass is done
        "left": (),  # how many are left
        "count": (),  # call each position in turn
        "click": ("position",),  # it clicked, or it is seated: this one, or the next, is done for good
        "hold": (),  # wait, I am not ready
        "call-again": (),  # which one was it
        "pass-again": (),  # the count was lost: this pass from its beginning
        "other-wrench": (),  # this wrench is laid aside
        "position-again": ("position",),  # "number four again"
        "mark": ("position", "standing"),  # "mark four doubtful"
        "adapter": (),  # the setting with the adapter on
        "in-unit": ("unit",),  # the same value in another unit
        "open": ("group",),  # what is still open in the whole job
        "tool": (),  # which tool
        "caution": (),  # say the caution again
        # measuring
        "measured": ("value", "unit"),
        # parts, tools and supplies; a thing is a part's name or a label
        "off": ("thing", "spot"),  # it came off, into which place
        "put": ("thing", "spot"),  # it lies there
        "put-back": ("thing",),  # it is where it came from
        "where-is": ("thing",),
        "label": ("thing",),  # a part gets a label, and a note that describes it
        "what-is": ("thing",),  # play that note
        "fitted": ("thing",),  # a part of the kit is fitted
        "reuse": ("thing",),  # the old part is fitted again (asks for a reason)
        "kit-left": ("thing",),  # how many of it are left
        "applied": ("supply",),  # it was put on
        "tool-in": ("tool",),
        "tool-out": ("tool",),
        "inside": (),  # what is still in the machine
        "reading": ("anew",),  # another reading of the same, or all of it anew
        "value-of": ("name",),  # what was measured, last or by its name
        "how-so": (),  # from which numbers
        # waiting
        "timer-start": (),
        "timer-stop": (),
        "timer-left": (),
        # answers
        "yes": (),
        "no": (),
        "reason": ("reason",),
        "cancel": (),
        # notes
        "note": ("matter", "position", "thing"),
        "note-end": (),
        "notes-play": ("which", "step", "thing"),  # all, the last, of a step, of yesterday, on a thing
        "picture": (),
        # the talk itself
        "pause": (),
        "resume": (),
        "stop": (),  # ends the innermost thing that is going on
        "quiet": (),
        "louder": (),
        "softer": (),
        "slower": (),
        "faster": (),
        "help": (),
    }
)
"""Intents that a grammar may tag, with the slots that each may carry."""

UNSPOKEN: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "opened": (),  # a new job begins
        "returned": ("seconds", "who"),  # an open job is taken up again; how long a note that was cut off is
        "note-over": ("seconds",),  # the note is as long as that, and nothing more is said into it
        "picture-taken": ("file",),
        "picture-failed": ("why",),  # "none": no camera is set; "failed": it gave no picture
        "revised": (),  # the job goes on with a newer text
        "tick": (),  # time has passed
        "let-be": (),  # so much talk that a question which waits may have been meant by it
        "not-here": (),  # commands came in that fit another place of the job
        "not-understood": ("heard",),  # speech that no active phrase fits, or too unsure
        "deaf": (),  # the microphone went away, or gives nothing
        "hears-again": (),  # it is back
        # Of these two, what the key that lets one talk is called; "" where there is none.
        "too-loud": ("key",),  # the noise leaves nothing to be heard
        "no-pause": ("key",),  # talk or music goes on without a pause, and no command can be told from it
        "too-strong": (),  # the microphone is overdriven, and what comes in is broken
        "too-faint": (),  # what is said is too faint to be heard
        "name-needed": ("name",),  # from now on the assistant must be called by its name
        "name-free": ("name",),  # not any more
        "too-long": (),  # speech longer than any command: talk, which is let be
    }
)
"""Intents that come from the program's doors, never from a grammar."""


class Intent(BaseModel):
    """One thing that was meant: a name from the lists above, and the words of its slots."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    slots: Mapping[str, str] = {}

    @model_validator(mode="after")
    def _known(self) -> "Intent":
        allowed = SPOKEN.get(self.name, UNSPOKEN.get(self.name))
        if allowed is None:
            raise DialogueError(f"there is no intent {self.name!r}", do="see assistant/dialogue/intents.py")
        if extra := set(self.slots) - set(allowed):
            raise DialogueError(f"the intent {self.name!r} has no slot {min(extra)!r}")
        return self
