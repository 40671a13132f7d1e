"""What an author says of parts, tools and supplies: what is taken off, counted, put in and put on."""

from collections.abc import Mapping
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, Field, model_validator

from assistant.procedure.written import Names, Written

USUAL_WAYS: Final = ("marked end up", "marked end down", "marked end to the front", "marked end to the rear")
USUAL_MARKS: Final = ("one dot", "two dots", "a line", "a cross", "no mark")

TOLD: Final[Mapping[str, tuple[str, ...]]] = {"mark": USUAL_MARKS, "way_round": USUAL_WAYS}
"""What is asked of a part when it comes off, if its author asks for it, with the answers there usually are."""


class PartQuestion(Written):
    """A question about a part that comes off, and the answers that can be said to it."""

    ask: str
    answers: Names = ()

    @model_validator(mode="before")
    @classmethod
    def _plain_text(cls, value: Any) -> Any:
        return {"ask": value} if isinstance(value, str) else value


class Supply(Written):
    """A lubricant, sealant or threadlocker: which, where it goes, and how much of it."""

    what: str
    where: str
    how_much: str = ""


class Part(Written):
    """A part: of the kit where a step uses it, of the machine where a step takes it off or puts it back.

    `count` is how many the kit has; one that is used once is never fitted again. `mark` and `way_round` are
    asked when it comes off; `own_place` means that it goes back to the very place and way round it came from.
    `apply` is what goes on it where it is fitted.
    """

    count: int = Field(default=1, ge=1)
    use_once: bool = False
    own_place: bool = False
    mark: PartQuestion | None = None
    way_round: PartQuestion | None = None
    apply: tuple[Supply, ...] = ()

    @property
    def questions(self) -> dict[str, PartQuestion]:
        """What is asked when it comes off, by the field; with the usual answers where none are listed."""
        asked = {field: getattr(self, field) for field in TOLD}
        return {
            field: PartQuestion(ask=question.ask, answers=question.answers or TOLD[field])
            for field, question in asked.items()
            if question is not None
        }


class Tool(Written):
    """A pin, plug, centring tool or rag: how many of it there are."""

    count: int = Field(default=1, ge=1)


def _named(value: Any) -> Any:
    names = [value] if isinstance(value, str) else value
    if isinstance(names, list | tuple) and all(isinstance(name, str) for name in names):
        return {name: {} for name in names}
    return value


def _counted(value: Any) -> Any:
    if isinstance(value, str):
        return [value]
    if not isinstance(value, dict):
        return value
    wrong = [count for count in value.values() if not isinstance(count, int) or not 0 < count < 100]  # noqa: PLR2004
    if wrong:
        raise ValueError(f"write how many there are as a whole number, such as 3, not {wrong[0]}")
    return [name for name, count in value.items() for _ in range(count)]


Tools = Annotated[
    Mapping[str, Tool],
    BeforeValidator(_named, json_schema_input_type=str | tuple[str, ...] | Mapping[str, Tool]),
]
"""Tools by name, or only their names."""

Counted = Annotated[
    tuple[str, ...],
    BeforeValidator(_counted, json_schema_input_type=str | tuple[str, ...] | Mapping[str, int]),
]
"""A name, a list of names, or names with how many of each; each name stands as often as it counts."""
