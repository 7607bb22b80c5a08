"""What people look at: pictures of the result and the page beside the machine."""

from typing import Annotated, Literal

from pydantic import Field

from schemas.base import WireModel


class Preview(WireModel):
    """What the pictures of the result show."""

    paint: Annotated[
        str | None,
        Field(
            pattern=r"^#[0-9A-Fa-f]{6}$",
            description="sRGB colour of all that is carved, as '#1f4e79'; left out: bare",
        ),
    ] = None
    oblique: Annotated[bool, Field(description="also draw the board seen at a slant")] = False


class SheetLook(WireModel):
    """The page beside the machine: its paper, and the units of its figures."""

    paper: Literal["a4", "letter"] = "a4"
    units: Literal["mm", "in"] = "mm"
