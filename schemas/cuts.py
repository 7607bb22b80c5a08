"""How it is cut: a bit and limits for each kind of work, and where clamps stand."""

from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from schemas.base import Name, WireModel
from schemas.bits import Bit, BitOrBits
from schemas.quantities import Angle, AnyLength, Degrees, Length, Millimetres, PositiveLength

Mill = Annotated[Bit, Field(description="a flat end mill, by name or in full")]
Direction = Annotated[
    Literal["climb", "conventional"], Field(description="which side of the bit meets the wood at a wall")
]


PalerLimits = Annotated[
    list[PositiveLength] | None,
    Field(
        min_length=1,
        max_length=2,
        description="of art in 3 or 4 tones: how deep its paler tones may be cut, the palest first; the "
        "darkest may go to 'depth_limit'; left out: equal steps",
    ),
]


def refuse_unordered(paler_limits: list[float] | None, depth_limit: float) -> None:
    """Refuse depth limits of tones that do not grow with their darkness.

    Raises:
        ValueError: One is no deeper than that of the tone before it.
    """
    limits = [*(paler_limits or []), depth_limit]
    for number, (paler, darker) in enumerate(pairwise(limits), 1):
        if paler >= darker:
            after = "'depth_limit'" if number == len(limits) - 1 else f"number {number + 1}"
            raise ValueError(
                f"'paler_limits' number {number} of {paler:g} mm is no less than {after} of {darker:g} mm: "
                "name them from the palest tone on, each deeper than the one before"
            )


class Incise(WireModel):
    """Cut the ink as V-grooves."""

    bit: BitOrBits
    depth_limit: Annotated[PositiveLength, Field(description="no groove and no floor is deeper than this")]
    paler_limits: PalerLimits = None
    pattern: Annotated[Name, Field(description="along the middle of strokes, or one of a plug-in's")] = (
        "middles"
    )

    @model_validator(mode="after")
    def _deeper_and_deeper(self) -> Self:
        refuse_unordered(self.paler_limits, self.depth_limit)
        return self


class Clear(WireModel):
    """Take ink too wide for the depth limit down to a flat floor."""

    bit: Mill
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
    direction: Direction = "climb"
    pass_depth: Annotated[
        PositiveLength | None, Field(description="deepest single pass; left out: by material and bit")
    ] = None
    engagement: Annotated[
        Annotated[float, Degrees(ge=60, le=180)] | None,
        Field(
            description="how much of the bit's edge may be in the wood at full feed; where it is more, the "
            "feed falls in proportion; left out: feeds stay full, outwards: 100 degrees",
        ),
    ] = None


class Drilling(WireModel):
    """Drill the holes; without it they are milled with the cutout's bit, or a clearing one."""

    bit: Annotated[Bit, Field(description="a drill of the holes' own diameter, or a thinner end mill")]
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
    width: Annotated[PositiveLength, Field(description="along the outline")] = 6.0
    height: Annotated[PositiveLength, Field(description="up from the board's back")] = 2.0
    shape: Annotated[
        Literal["square", "sloped"],
        Field(description="sloped: the bit rises and falls along a slope, without a stop"),
    ] = "square"


class Cutout(WireModel):
    """Cut the board free."""

    bit: Mill
    past: Annotated[float, Millimetres(ge=0, le=5), Field(description="deeper than the board is thick")] = 0.3
    bed: Annotated[
        PositiveLength | None, Field(description="thickness of the spoilboard under the board, if known")
    ] = None
    tabs: Annotated[Tabs, Field(description="bridges that keep the board in its blank")] = Tabs()
    side: Annotated[
        Literal["outside", "on", "inside"],
        Field(description="where the bit runs: outside, the board keeps its size"),
    ] = "outside"
    direction: Direction = "climb"
    pass_depth: Annotated[
        PositiveLength | None, Field(description="deepest single pass; left out: by material and bit")
    ] = None
    last_layer: Annotated[
        Length, Field(description="left under the whole outline for a thin last pass; 0: equal passes")
    ] = 0.0
    wall_allowance: Annotated[
        float,
        Millimetres(ge=0, le=3),
        Field(description="left on the wall for a last round at full depth; 0: no such round"),
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
    """Where a clamp stands, in the board's own frame; beside the board places are negative or beyond it.

    It stands there whichever side is up: for the back, x counts from the corner that is lower left then.
    """

    left: Annotated[AnyLength, Field(description="its left side, from the board's left edge")]
    bottom: Annotated[AnyLength, Field(description="its lower side, from the board's lower edge")]
    right: Annotated[AnyLength, Field(description="its right side, from the board's left edge")]
    top: Annotated[AnyLength, Field(description="its upper side, from the board's lower edge")]
    height: Annotated[float, Millimetres(gt=0, le=100), Field(description="over the board's face")] = 20.0

    @model_validator(mode="after")
    def _has_a_size(self) -> Self:
        if self.left >= self.right or self.bottom >= self.top:
            raise ValueError(
                f"a zone from x {self.left:g} to {self.right:g} and y {self.bottom:g} to {self.top:g} mm has "
                "no size: 'right' must be more than 'left', and 'top' more than 'bottom'"
            )
        return self


KeepOuts = Annotated[
    list[KeepOut], Field(max_length=32, description="where clamps stand; no bit, nut or spindle comes there")
]
