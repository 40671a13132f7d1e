"""Where the positions of a group lie, as its author writes it."""

from typing import Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from assistant.torque.order import Point, circle_points, line_points, rectangle_points
from assistant.torque.units import Coordinate, Quantity

Count = Annotated[int, Field(ge=1, le=1000)]
"""How many there can be of a thing that somebody goes through by hand."""


class Layout(BaseModel):
    """Where the positions lie: one of a circle, a rectangle (rows x columns), a line or points."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    circle: Count | None = Field(default=None, description="numbered clockwise from the top")
    rectangle: str | None = Field(default=None, pattern=r"^[1-9]\d*\s*x\s*[1-9]\d*$", examples=["2x4"])
    line: Count | None = Field(default=None, description="numbered from the left")
    points: tuple[tuple[float | Coordinate, float | Coordinate], ...] | None = Field(
        default=None,
        min_length=1,
        description="x to the right, y upwards, in millimetres unless a unit is written",
    )

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        if len(forms := self.model_dump(exclude_none=True)) != 1:
            raise ValueError(
                f"a layout is one of circle, rectangle, line, points; this has {len(forms)} of them"
            )
        placed = self.placed()
        if len(set(placed)) < len(placed):
            raise ValueError("two positions of the layout lie in one place; give each its own coordinates")
        return self

    def placed(self) -> tuple[Point, ...]:
        """Give each position's point, the first for position 1."""
        if self.circle:
            return circle_points(self.circle)
        if self.line:
            return line_points(self.line)
        if self.rectangle:
            rows, columns = (int(side) for side in self.rectangle.split("x"))
            return rectangle_points(rows, columns)
        return tuple((_mm(x), _mm(y)) for x, y in self.points or ())


def count_of(layout: Any) -> int:
    """Count the positions of a layout as written; a wrong one is told by its own field, so any count will do."""
    try:
        return len(Layout.model_validate(layout).placed())
    except ValidationError:
        return 1


def _mm(coordinate: float | Quantity) -> float:
    return float(coordinate.exact("mm")) if isinstance(coordinate, Quantity) else coordinate
