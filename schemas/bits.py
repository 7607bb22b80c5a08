"""A bit: a name from this installation's table, or described in full."""

from typing import Annotated, Literal

from pydantic import Field

from schemas.base import WireModel
from schemas.quantities import Angle, Length, PositiveLength

Flutes = Annotated[int, Field(ge=1, le=12)]


class VeeBit(WireModel):
    """A cone, with a flat tip or a sharp one."""

    kind: Literal["vee"]
    included_angle: Annotated[Angle, Field(gt=5, lt=175)]
    tip: Length = 0.0
    diameter: PositiveLength
    cutting_length: PositiveLength | None = None  # as deep as the cone goes, if not given
    flutes: Flutes = 2


class RoundBit(WireModel):
    """A straight-sided bit: flat end mill, ball nose or drill."""

    kind: Literal["flat", "ball", "drill"]
    diameter: PositiveLength
    cutting_length: PositiveLength
    flutes: Flutes = 2


BitName = Annotated[str, Field(min_length=1, max_length=64, pattern=r"^[A-Za-z0-9][A-Za-z0-9 ./_-]*$")]
Bit = BitName | Annotated[VeeBit | RoundBit, Field(discriminator="kind")]
