"""How it is cut: a bit and limits for each kind of work, and where clamps stand."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from schemas.base import Name, WireModel
from schemas.bits import Bit, BitOrBits
from schemas.quantities import Angle, AnyLength, Length, PositiveLength


class Incise(WireModel):
    """Cut the ink as V-grooves."""

    bit: BitOrBits
    depth_limit: PositiveLength
    pattern: Annotated[Name, Field(description="along the middle of strokes, or one of a plug-in's")] = (
        "middles"
    )


class Clear(WireModel):
    """Take ink too wide for the depth limit down to a flat floor."""

    bit: Bit
    finer: Annotated[
        list[Bit],
        Field(max_length=3, description="for what the bit before did not reach, each thinner than the last"),
    ] = []
    pattern: Annotated[
        Name,
        Field(
            description="rings along the walls, lines along the grain, outwards with an even load on the "
            "bit, or one of a plug-in's"
        ),
    ] = "rings"
    grain: Annotated[Angle, Field(description="direction of the grain, from the board's width")] = 0.0
    direction: Literal["climb", "conventional"] = "climb"
    pass_depth: Annotated[
        PositiveLength | None, Field(description="deepest single pass; left out: by material and bit")
    ] = None
    engagement: Annotated[
        Angle | None,
        Field(
            ge=60,
            le=180,
            description="how much of the bit's edge may be in the wood at full feed; where it is more, the "
            "feed falls in proportion; left out: feeds stay full, outwards: 100 degrees",
        ),
    ] = None


class Drilling(WireModel):
    """Drill the holes; without it they are milled with the cutout's bit."""

    bit: Bit
    peck: Annotated[
        PositiveLength | None, Field(description="deepest at a time before the bit is lifted out of the hole")
    ] = None
    dwell: Annotated[
        float, Field(ge=0, le=10, description="seconds that the bit stands at the bottom of a drilled hole")
    ] = 0.0


class Tabs(WireModel):
    """Bridges that keep the board in its blank."""

    count: Annotated[
        int | None,
        Field(
            ge=0,
            le=64,
            description="round the board; left out: by the outline's length and the tabs' section",
        ),
    ] = None
    width: PositiveLength = 6.0
    height: PositiveLength = 2.0
    shape: Annotated[
        Literal["square", "sloped"],
        Field(description="sloped: the bit rises and falls along a slope, without a stop"),
    ] = "square"


class Cutout(WireModel):
    """Cut the board free."""

    bit: Bit
    past: Annotated[Length, Field(le=5, description="deeper than the board is thick")] = 0.3
    bed: Annotated[
        PositiveLength | None, Field(description="thickness of the spoilboard under the board, if known")
    ] = None
    tabs: Tabs = Tabs()
    side: Annotated[
        Literal["outside", "on", "inside"],
        Field(description="where the bit runs: outside, the board keeps its size"),
    ] = "outside"
    direction: Literal["climb", "conventional"] = "climb"
    pass_depth: Annotated[
        PositiveLength | None, Field(description="deepest single pass; left out: by material and bit")
    ] = None
    last_layer: Annotated[
        Length, Field(description="left under the whole outline for a thin last pass; 0: equal passes")
    ] = 0.0
    wall_allowance: Annotated[
        Length, Field(le=3, description="left on the wall for a last round at full depth; 0: no such round")
    ] = 0.0

    @model_validator(mode="after")
    def _stays_in_the_bed(self) -> Self:
        if self.bed is not None and self.past >= self.bed:
            raise ValueError(
                f"{self.past:g} mm past the board goes through a bed of {self.bed:g} mm: "
                "lower 'past' or lay a thicker spoilboard"
            )
        return self


class KeepOut(WireModel):
    """Where a clamp stands, in the board's own frame; beside the board places are negative or beyond it."""

    left: AnyLength
    bottom: AnyLength
    right: AnyLength
    top: AnyLength
    height: Annotated[PositiveLength, Field(le=100, description="over the board's face")] = 20.0

    @model_validator(mode="after")
    def _has_a_size(self) -> Self:
        if self.left >= self.right or self.bottom >= self.top:
            raise ValueError(
                f"a zone from x {self.left:g} to {self.right:g} and y {self.bottom:g} to {self.top:g} mm has "
                "no size: 'right' must be more than 'left', and 'top' more than 'bottom'"
            )
        return self


KeepOuts = Annotated[list[KeepOut], Field(max_length=32)]
