"""A drawing and its sheet: how it is sent, how large its sheet is, where it goes."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from schemas.base import WireModel
from schemas.links import Link
from schemas.quantities import Angle, AnyLength, PositiveLength
from schemas.touch_up import TouchUpSteps

PixelPoint = Annotated[tuple[float, float], Field(description="column, row in pixels of the upright picture")]


class SheetSize(WireModel):
    """A sheet of paper by its sides, as it lies upright in the picture."""

    width: PositiveLength
    height: PositiveLength


class KnownLength(WireModel):
    """A length on the drawing, between two points of the first photo."""

    length: PositiveLength
    between: tuple[PixelPoint, PixelPoint]


SheetName = Literal["a3", "a4", "a5", "letter", "legal", "tabloid", "none"]


Sheet = SheetName | SheetSize | KnownLength


Merge = Annotated[
    bool, Field(description="make one picture of all photos, without the glare and shade of each")
]


Tones = Annotated[
    int, Field(ge=2, le=4, description="ink and paper; or 3 or 4 to group greys into tiers, paper being one")
]


class Place(WireModel):
    """Where the middle of the art's ink lies, from the board's lower left corner, and how large it is."""

    x: AnyLength
    y: AnyLength
    width: PositiveLength | None = None
    height: PositiveLength | None = None
    turn: Annotated[Angle, Field(description="anticlockwise")] = 0.0

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.width is not None and self.height is not None:
            raise ValueError("give 'width' or 'height', not both: art keeps its proportions")
        return self


class Art(WireModel):
    """One picture: photos of a sheet, a two-tone image, or an SVG drawing."""

    photos: Annotated[list[Link], Field(min_length=1, max_length=8)] | None = None
    image: Link | None = None
    svg: Link | None = None
    sheet: Sheet = "a4"
    merge: Merge = False  # of photos
    millimetres_per_pixel: Annotated[float, Field(gt=0, le=10)] | None = None
    tolerance: Annotated[PositiveLength, Field(ge=0.001, le=1.0)] = 0.02
    touch_up: TouchUpSteps = []
    place: Place | None = None  # the middle of the board at true size, if not given

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if sum(source is not None for source in (self.photos, self.image, self.svg)) != 1:
            raise ValueError("give exactly one of 'photos', 'image' and 'svg'")
        if self.merge and self.photos is None:
            raise ValueError("'merge' makes one picture of several photos: give 'photos' or leave it out")
        return self
