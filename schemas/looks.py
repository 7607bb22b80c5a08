"""What people look at: pictures of the result and the page beside the machine."""

from typing import Annotated, Literal

from pydantic import Field

from schemas.base import WireModel
from schemas.quantities import Angle


class Preview(WireModel):
    """What the pictures of the result show."""

    paint: Annotated[
        str | None,
        Field(
            pattern=r"^#[0-9A-Fa-f]{6}$",
            description="sRGB colour of all that is carved, as '#1f4e79'; left out: bare",
        ),
    ] = None
    views: Annotated[
        tuple[Literal["oblique", "close-up", "section"], ...],
        Field(
            max_length=3,
            description="also drawn: the board at a slant; its finest detail in raking light; "
            "the deepest groove cut through",
        ),
    ] = ()
    grain: Annotated[
        Angle | None,
        Field(
            description="how the grain runs, from x anticlockwise; left out: "
            "as floors are cleared, else along the longer side"
        ),
    ] = None


class SheetLook(WireModel):
    """The page beside the machine: its paper, and the units of its figures."""

    paper: Annotated[Literal["a4", "letter"], Field(description="what it is printed on")] = "a4"
    units: Annotated[Literal["mm", "in"], Field(description="of its figures and of what was found")] = "mm"
