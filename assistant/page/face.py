"""What the page on the wall shows at one moment."""

from pydantic import BaseModel, ConfigDict, Field


class Face(BaseModel):
    """One face of the page; whatever is empty is not shown.

    `step` is what step `number` says, `steps_left` how many are left; `said` is what is being said, `heard` what was
    heard last, `hearing` what is being heard and may still change, `act` the next thing to do ("3: 60 N.m"),
    `question` what waits for an answer. `left` counts what is still open in the job, `timer_left` the
    seconds that a running wait has left.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    step: str = ""
    number: int = Field(default=0, ge=0)
    steps_left: int | None = Field(default=None, ge=0)
    said: str = ""
    heard: str = ""
    hearing: str = ""
    act: str = ""
    left: int | None = Field(default=None, ge=0)
    timer_left: float | None = Field(default=None, ge=0)
    question: str = ""
