"""What all rows of a record have in common: frozen, with times in UTC."""

from datetime import UTC
from typing import Annotated

from pydantic import AfterValidator, AwareDatetime, BaseModel, ConfigDict

Time = Annotated[AwareDatetime, AfterValidator(lambda at: at.astimezone(UTC))]
"""A moment, in UTC whatever zone it was given in."""


class Recorded(BaseModel):
    """One row of a record, or the record itself."""

    model_config = ConfigDict(frozen=True, extra="forbid")
