"""The finished board, and what stands on it besides art."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from schemas.base import Name, WireModel
from schemas.bits import Bit
from schemas.quantities import Angle, AnyLength, Length, Millimetres, PositiveLength

Across = Annotated[AnyLength, Field(description="to the right of the board's lower left corner")]
Up = Annotated[AnyLength, Field(description="up from the board's lower left corner")]
Turned = Annotated[Angle, Field(description="anticlockwise")]


class Board(WireModel):
    """The finished board."""

    width: Annotated[float, Millimetres(ge=10, le=3000), Field(description="from left to right")]
    height: Annotated[
        float, Millimetres(ge=10, le=3000), Field(description="as it hangs, from bottom to top")
    ]
    thickness: Annotated[float, Millimetres(gt=0, le=200), Field(description="as it is sold")]
    measured: Annotated[
        Annotated[float, Millimetres(gt=0, le=200)] | None,
        Field(description="thickness by calipers, if it was measured: everything is cut by it"),
    ] = None
    material: Annotated[Name, Field(description="a name of GET /materials", examples=["basswood"])]
    corner_radius: Annotated[Length, Field(description="of all four corners; 0: square ones")] = 0.0

    @property
    def cut_thickness(self) -> float:
        """What everything is cut by, mm: the measured thickness where it is known."""
        return self.thickness if self.measured is None else self.measured

    @model_validator(mode="after")
    def _corners_fit(self) -> Self:
        if 2 * self.corner_radius > min(self.width, self.height):
            raise ValueError(
                f"a corner radius of {self.corner_radius:g} mm is more than half of the shorter side, "
                f"{min(self.width, self.height):g} mm: lower 'corner_radius'"
            )
        return self


class Lettering(WireModel):
    """A line of text, or several with line breaks."""

    text: Annotated[
        str, Field(min_length=1, max_length=200, description="what it says; a line break begins a line below")
    ]
    font: Annotated[Name, Field(description="a name of GET /fonts")] = "source-serif-bold"
    cap_height: Annotated[
        float, Millimetres(ge=2, le=1000), Field(description="how high its capital letters are")
    ]
    x: Annotated[Across, Field(description="where 'align' says: the text's left end, middle or right end")]
    y: Annotated[Up, Field(description="of its first baseline")]
    align: Annotated[
        Literal["left", "centre", "right"], Field(description="which part of the text is at x")
    ] = "centre"
    line_spacing: Annotated[float, Field(ge=0.8, le=5, description="baselines apart, in cap heights")] = 1.6
    letter_spacing: Annotated[AnyLength, Field(description="more room between letters; below 0: less")] = 0.0
    turn: Turned = 0.0


class Border(WireModel):
    """A line all round, parallel to the board's edge."""

    inset: Annotated[PositiveLength, Field(description="from the board's edge to the line's outer side")]
    width: Annotated[PositiveLength, Field(description="of the line")]


class Hole(WireModel):
    """A hole right through; place of its centre."""

    x: Across
    y: Up
    diameter: Annotated[PositiveLength, Field(description="of the finished hole")]


class RectangleOpening(WireModel):
    """A rectangle with round corners, right through; place of its middle."""

    shape: Literal["rectangle"]
    x: Across
    y: Up
    width: Annotated[PositiveLength, Field(description="before it is turned")]
    height: Annotated[PositiveLength, Field(description="before it is turned")]
    corner_radius: Annotated[PositiveLength, Field(description="no less than the radius of the bit")]
    turn: Turned = 0.0

    @model_validator(mode="after")
    def _corners_fit(self) -> Self:
        if 2 * self.corner_radius > min(self.width, self.height):
            raise ValueError("'corner_radius' is more than half of the shorter side")
        return self


class SlotOpening(WireModel):
    """A slot with round ends, right through; place of its middle."""

    shape: Literal["slot"]
    x: Across
    y: Up
    length: Annotated[PositiveLength, Field(description="over its round ends")]
    width: Annotated[PositiveLength, Field(description="and diameter of its ends")]
    turn: Turned = 0.0

    @model_validator(mode="after")
    def _longer_than_wide(self) -> Self:
        if self.length <= self.width:
            raise ValueError("a slot is longer than it is wide: a round one is among 'holes'")
        return self


class KeyholeOpening(WireModel):
    """A keyhole to hang the board on a screw, right through; place of its head's middle, neck upwards."""

    shape: Literal["keyhole"]
    x: Across
    y: Up
    head: Annotated[PositiveLength, Field(description="diameter that the screw's head goes through")]
    neck: Annotated[PositiveLength, Field(description="width that holds the screw's shank")]
    length: Annotated[PositiveLength, Field(description="from the head's middle to the neck's end")]
    turn: Turned = 0.0

    @model_validator(mode="after")
    def _is_a_keyhole(self) -> Self:
        if self.neck >= self.head:
            raise ValueError("the neck of a keyhole is narrower than its head: lower 'neck'")
        if self.length <= self.head / 2 + self.neck / 2:
            raise ValueError("the neck ends within the head: make 'length' more than half of both together")
        return self


class Hanger(WireModel):
    """A blind keyhole slot in the back, to hang the board on a screw; place of its entry's middle.

    It stands where it would be seen if the board were glass: places are those of the front, and the slot
    runs up from its entry, so that the sign drops down on the screw.
    """

    x: Annotated[AnyLength, Field(description="of the entry, as seen from the FRONT, from the lower left")]
    y: Annotated[AnyLength, Field(description="of the entry, up from the board's lower left corner")]
    length: Annotated[
        float,
        Millimetres(gt=0, le=300),
        Field(description="how far the slot runs up, from the entry's middle to its end's"),
    ] = 14.0
    depth: Annotated[
        PositiveLength | None,
        Field(
            description="from the back to the bottom of the slot; left out: a lip as thick as the slot is "
            "wide, 3 mm at least, lies over the screw's head"
        ),
    ] = None
    bit: Annotated[Bit, Field(description="a keyhole bit, T-shaped: its head goes under the lip")] = (
        "keyhole-3/8in"
    )


Opening = Annotated[RectangleOpening | SlotOpening | KeyholeOpening, Field(discriminator="shape")]


class Raised(WireModel):
    """Art, lettering and border stand raised: the ground around them is cut, not they themselves."""

    margin: Annotated[
        PositiveLength | None, Field(description="from the board's edge to the ground's: a frame stands")
    ] = None
    past_edge: Annotated[
        Annotated[float, Millimetres(gt=0, le=25)] | None,
        Field(description="the ground runs out over the board's edge, and is cut so far past it"),
    ] = None

    @model_validator(mode="after")
    def _ends_somewhere(self) -> Self:
        if (self.margin is None) == (self.past_edge is None):
            raise ValueError(
                "give either 'margin', for a frame that stands round the ground, or 'past_edge', "
                "for ground that runs out over the board's edge"
            )
        return self
