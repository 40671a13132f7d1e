"""What all parts of a procedure have in common: frozen, and no key that is not known."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict


class Written(BaseModel):
    """One part of a procedure, as its author wrote it."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def _as_list(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Names = Annotated[tuple[str, ...], BeforeValidator(_as_list, json_schema_input_type=str | tuple[str, ...])]
"""One name or a list of them."""
