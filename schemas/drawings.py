"""A drawing and its sheet: how it is sent, how large its sheet is, where it goes."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from schemas.base import WireModel
from schemas.boards import Across, Turned, Up
from schemas.links import Link
from schemas.quantities import Millimetres, PositiveLength
from schemas.touch_up import TouchUpSteps

PixelPoint = Annotated[tuple[float, float], Field(description="column, row in pixels of the upright picture")]


class SheetSize(WireModel):
    """A sheet of paper by its sides, as it lies upright in the picture."""

    width: Annotated[PositiveLength, Field(description="from left to right")]
    height: Annotated[PositiveLength, Field(description="from bottom to top")]


class KnownLength(WireModel):
    """A length on the drawing, between two points of the first photo."""

    length: Annotated[PositiveLength, Field(description="measured on the drawing itself")]
    between: Annotated[tuple[PixelPoint, PixelPoint], Field(description="where it ends in the first photo")]


SheetName = Literal["a3", "a4", "a5", "letter", "legal", "tabloid", "none"]


Sheet = Annotated[
    SheetName | SheetSize | KnownLength,
    Field(
        description="of photos: the sheet's size by name or by its sides; or a known length; or none, if the "
        "file states its scale"
    ),
]
Photos = Annotated[list[Link], Field(min_length=1, max_length=8)]
PHOTOS = "of one sheet; the best is used, or all of them, if 'merge' says so"
PixelSize = Annotated[
    Annotated[float, Field(gt=0, le=10)] | None,
    Field(description="mm for each pixel of a picture that does not say it itself"),
]
Tolerance = Annotated[
    float,
    Millimetres(ge=0.001, le=1.0),
    Field(description="how far a fitted curve may lie from the ink's edge"),
]


Merge = Annotated[
    bool, Field(description="make one picture of all photos, without the glare and shade of each")
]


Tones = Annotated[
    int, Field(ge=2, le=4, description="ink and paper; or 3 or 4 to group greys into tiers, paper being one")
]


Darker = Annotated[
    list[Link] | None,
    Field(
        min_length=1,
        max_length=2,
        description="of several tones: the same sheet without the palest tone, and without the two palest",
    ),
]
_OF_TWO_TONES = ("flip", "invert")  # steps that make paper ink


class Place(WireModel):
    """Where the middle of the art's ink lies, from the board's lower left corner, and how large it is."""

    x: Across
    y: Up
    width: Annotated[
        PositiveLength | None,
        Field(description="of the ink after turning; left out with 'height': true size"),
    ] = None
    height: Annotated[PositiveLength | None, Field(description="of the ink after turning")] = None
    turn: Turned = 0.0

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.width is not None and self.height is not None:
            raise ValueError("give 'width' or 'height', not both: art keeps its proportions")
        return self


class Art(WireModel):
    """One picture: photos of a sheet, a two-tone image, or an SVG drawing."""

    photos: Annotated[Photos | None, Field(description=PHOTOS)] = None
    image: Annotated[Link | None, Field(description="a two-tone picture, such as intake makes")] = None
    svg: Annotated[Link | None, Field(description="a drawing in SVG; what it paints dark is ink")] = None
    sheet: Sheet = "a4"
    merge: Merge = False  # of photos
    tones: Tones = 2  # of photos
    darker: Darker = None  # of an image or an SVG
    millimetres_per_pixel: PixelSize = None
    tolerance: Tolerance = 0.02
    touch_up: TouchUpSteps = []
    place: Annotated[Place | None, Field(description="left out: the middle of the board, at true size")] = (
        None
    )

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if sum(source is not None for source in (self.photos, self.image, self.svg)) != 1:
            raise ValueError("give exactly one of 'photos', 'image' and 'svg'")
        if self.merge and self.photos is None:
            raise ValueError("'merge' makes one picture of several photos: give 'photos' or leave it out")
        return self

    @model_validator(mode="after")
    def _tones_of_its_source(self) -> Self:
        if self.tones > 2 and self.photos is None:
            raise ValueError(
                "'tones' are told apart in photos; with an 'image' or 'svg' of all ink give the darker tones "
                "as files of the same kind under 'darker'"
            )
        if self.darker and self.photos is not None:
            raise ValueError("the darker tones of photos are told apart by 'tones': leave 'darker' out")
        steps = [step.do for step in self.touch_up if step.do in _OF_TWO_TONES]
        if steps and self.tones_count > 2:
            raise ValueError(
                f"'{steps[0]}' under 'touch_up' makes paper ink, and with several tones it is not known of "
                "which: use 'draw' or 'erase'"
            )
        return self

    @property
    def tones_count(self) -> int:
        """Paper and each tone of the ink."""
        return self.tones if self.darker is None else 2 + len(self.darker)
