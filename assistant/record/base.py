"""What all rows of a record have in common: frozen, with times that have their zone."""

from pydantic import AwareDatetime, BaseModel, ConfigDict

Time = AwareDatetime
"""A moment, by the clock of the place where the job began, with its distance from UTC."""


class Recorded(BaseModel):
    """One row of a record, or the record itself."""

    model_config = ConfigDict(frozen=True, extra="forbid")
