"""What all events have in common."""

from pydantic import BaseModel, ConfigDict


class JobEvent(BaseModel):
    """One thing that happened; never changed, and with no fields that its kind does not have."""

    model_config = ConfigDict(frozen=True, extra="forbid")
