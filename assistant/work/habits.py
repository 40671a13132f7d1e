"""How a shop talks to it: the name it is called by, the keys and pedals.

The file is habits.yaml in the user's configuration folder:

    call_name: workbench      # may be said before a command, in one breath
    require_name: true        # must be said; else only when talk was taken for commands
    keys:                     # beside or instead of the usual ones
      page down: done next
      a: talk
"""

from collections.abc import Mapping
from typing import Final

from pydantic import BaseModel, ConfigDict

from assistant.errors import HearingError
from assistant.paths import user_config
from assistant.procedure.yaml_text import Form
from assistant.work.files import read_text
from assistant.work.keys import KEYS, TALK, called


class Habits(BaseModel):
    """What a shop has said about how it talks; everything may be left out."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    call_name: str = ""
    require_name: bool = False
    keys: Mapping[str, str] = {}

    @property
    def all_keys(self) -> Mapping[str, str]:
        """What every key does: the shop's word before the usual."""
        return {**KEYS, **self.keys}

    @property
    def talk_key(self) -> str:
        """The key to talk, as it is called: the shop's own before the usual; "" where there is none."""
        talks = (key for key in (*self.keys, *KEYS) if self.all_keys[key] == TALK)
        return next(map(called, talks), "")


_FORM: Final = Form(Habits, HearingError, "a shop's habits", "begin it with call_name: or keys:")


def load_habits() -> Habits:
    """Read the user's habits; the usual ones where there is no file. Raises AssistantError naming the line."""
    path = user_config() / "habits.yaml"
    if not path.exists():
        return Habits()
    return parse_habits(read_text(path, "give a YAML file"), name=str(path))


def parse_habits(text: str, *, name: str) -> Habits:
    """Make Habits of YAML text; `name` is the file to name in a mistake. Raises HearingError with the line."""
    return _FORM.fill(_FORM.read(text, name), name)
