"""A bit: a name from this installation's table, or described in full."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from schemas.base import Name, WireModel
from schemas.quantities import Degrees, Length, PositiveLength

Flutes = Annotated[int, Field(ge=1, le=12, description="cutting edges round it")]
Shank = Annotated[
    PositiveLength | None,
    Field(description="diameter above the edges; left out: of the next collet of 1/8 in, 6 mm, 1/4 in, 8 mm"),
]
StickOut = Annotated[
    PositiveLength | None,
    Field(description="from the tip to the collet's nut; left out: 6 mm more than the edges, 20 mm at least"),
]


class VeeBit(WireModel):
    """A cone, with a flat tip or a sharp one."""

    kind: Literal["vee"]
    included_angle: Annotated[float, Degrees(gt=5, lt=175), Field(description="between opposite flanks")]
    tip: Annotated[Length, Field(description="diameter of the flat at its tip; 0: sharp")] = 0.0
    diameter: Annotated[PositiveLength, Field(description="where the cone ends")]
    cutting_length: Annotated[
        PositiveLength | None, Field(description="from the tip up; left out: as deep as the cone goes")
    ] = None
    flutes: Flutes = 2
    shank: Shank = None
    stick_out: StickOut = None


class RoundBit(WireModel):
    """A straight-sided bit: flat end mill, ball nose or drill."""

    kind: Annotated[Literal["flat", "ball", "drill"], Field(description="end mill, ball nose or drill")]
    diameter: Annotated[PositiveLength, Field(description="over its edges")]
    cutting_length: Annotated[PositiveLength, Field(description="how far its edges reach up from the tip")]
    flutes: Flutes = 2
    shank: Shank = None
    stick_out: StickOut = None


class KeyholeBit(WireModel):
    """A T-shaped bit for slots from behind: a flat head on a thinner neck that cuts as well."""

    kind: Literal["keyhole"]
    diameter: Annotated[PositiveLength, Field(description="of the head")]
    head_height: Annotated[PositiveLength, Field(description="from the tip to the neck")]
    neck: Annotated[PositiveLength, Field(description="diameter over the head")]
    cutting_length: Annotated[PositiveLength, Field(description="from the tip to the end of the neck")]
    flutes: Flutes = 2
    shank: Shank = None
    stick_out: StickOut = None

    @model_validator(mode="after")
    def _is_a_tee(self) -> Self:
        if self.neck >= self.diameter:
            raise ValueError("the neck of a keyhole bit is thinner than its head: lower 'neck'")
        if self.head_height >= self.cutting_length:
            raise ValueError("no neck is left over the head: 'cutting_length' goes to the end of the neck")
        return self


Bit = Name | Annotated[VeeBit | RoundBit | KeyholeBit, Field(discriminator="kind")]
BitOrBits = Annotated[
    Bit | Annotated[list[Bit], Field(min_length=1, max_length=8)],
    Field(description="a bit; or several, of which the one that shows most of the drawing is taken"),
]
