"""What a person changes in a drawing by hand: steps, in the order in which they are done.

All places are in millimetres from the upper left corner of the drawing as it is seen, upright:
x to the right, y DOWN, as a screen counts. Each step sees the drawing as the steps before it left
it, so after a turn or a crop, places count from the new upper left corner.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from schemas.base import WireModel
from schemas.links import Link
from schemas.quantities import Angle, AnyLength, Millimetres, PositiveLength

MAX_STEPS = 200
MAX_POINTS = 2000

_FRAME = "mm from the drawing's upper left corner, x right, y down"
Point = Annotated[tuple[AnyLength, AnyLength], Field(description=f"x, y: {_FRAME}")]
Across = Annotated[AnyLength, Field(description="to the right of the drawing's left edge")]
Down = Annotated[AnyLength, Field(description="DOWN from the drawing's upper edge, as a screen counts")]
Polygon = Annotated[
    list[Point],
    Field(
        min_length=3,
        max_length=MAX_POINTS,
        description=f"corners of an area, {_FRAME}; the last is joined to the first",
    ),
]
Line = Annotated[
    list[Point],
    Field(min_length=1, max_length=MAX_POINTS, description=f"points of a line, {_FRAME}; one makes a dot"),
]
LineWidth = Annotated[float, Millimetres(ge=0.05, le=100)]
EdgeShift = Annotated[float, Millimetres(ge=0.01, le=5), Field(description="how far the ink's edge moves")]


class Turn(WireModel):
    """Turn the sheet; the new sheet is the box round the turned one. Quarter turns are exact."""

    do: Literal["turn"]
    angle: Annotated[Angle, Field(description="anticlockwise, as seen")]


class Mirror(WireModel):
    """Swap left and right, or top and bottom."""

    do: Literal["mirror"]
    swap: Annotated[Literal["left-right", "top-bottom"], Field(description="which sides")] = "left-right"


class Crop(WireModel):
    """Keep only a box; on a picture it is rounded to whole pixels."""

    do: Literal["crop"]
    x: Annotated[Across, Field(description="left side of the box, from the drawing's left edge")]
    y: Annotated[Down, Field(description="upper side of the box, DOWN from the drawing's upper edge")]
    width: Annotated[PositiveLength, Field(description="of the box")]
    height: Annotated[PositiveLength, Field(description="of the box")]


class Invert(WireModel):
    """Make ink paper and paper ink."""

    do: Literal["invert"]


class _Marked(WireModel):
    """An area, or a line with a width."""

    polygon: Annotated[Polygon | None, Field(description="an area")] = None
    line: Annotated[Line | None, Field(description="or a line, with its 'width'")] = None
    width: Annotated[LineWidth | None, Field(description="of the line")] = None

    @model_validator(mode="after")
    def _one_mark(self) -> Self:
        if (self.polygon is None) == (self.line is None):
            raise ValueError("give either 'polygon' or 'line'")
        if (self.line is None) != (self.width is None):
            raise ValueError("'line' and 'width' belong together")
        return self


class Erase(_Marked):
    """Make an area, or what a round rubber passes along a line, paper."""

    do: Literal["erase"]


class Draw(_Marked):
    """Make an area, or what a round marker passes along a line, ink."""

    do: Literal["draw"]


class Keep(WireModel):
    """Make everything outside a polygon paper."""

    do: Literal["keep"]
    polygon: Polygon


class RemoveSpecks(WireModel):
    """Make connected ink paper where it is smaller than an area."""

    do: Literal["remove_specks"]
    below: Annotated[float, Field(gt=0, le=10_000, description="square millimetres")]


class Flip(WireModel):
    """Make the connected ink under a point paper; or the connected paper ink."""

    do: Literal["flip"]
    x: Across
    y: Down


class SetIn(WireModel):
    """Add the ink of another drawing, the middle of its ink's box at x, y, at a width or a height."""

    do: Literal["set_in"]
    drawing: Annotated[Link, Field(description="an SVG, or a two-tone picture")]
    x: Across
    y: Down
    width: Annotated[PositiveLength | None, Field(description="of the ink's box after turning")] = None
    height: Annotated[PositiveLength | None, Field(description="of the ink's box after turning")] = None
    turn: Annotated[Angle, Field(description="anticlockwise, as seen")] = 0.0

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if (self.width is None) == (self.height is None):
            raise ValueError("give either 'width' or 'height': a drawing keeps its proportions")
        return self


class Thicken(WireModel):
    """Move the ink's edge outwards, everywhere or within a polygon."""

    do: Literal["thicken"]
    by: EdgeShift
    polygon: Annotated[Polygon | None, Field(description="where; left out: everywhere")] = None


class Thin(WireModel):
    """Move the ink's edge inwards, everywhere or within a polygon."""

    do: Literal["thin"]
    by: EdgeShift
    polygon: Annotated[Polygon | None, Field(description="where; left out: everywhere")] = None


TouchUp = Annotated[
    Turn | Mirror | Crop | Invert | Erase | Keep | RemoveSpecks | Flip | Draw | SetIn | Thicken | Thin,
    Field(discriminator="do"),
]
TouchUpSteps = Annotated[
    list[TouchUp],
    Field(
        max_length=MAX_STEPS,
        description="changes by hand, done in order; places count from the upper left corner of the drawing "
        "as the steps before left it, x right, y down",
    ),
]
