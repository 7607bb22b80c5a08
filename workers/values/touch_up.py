"""What a person changes in a drawing by hand, step by step.

Places are in mm, x right, y up, counted from the *upper* left corner of the drawing as it
stands when the step's turn comes: turning and cropping move every other corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from workers.values.curved_artwork import CurvedArtwork

PointMm = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """The area inside a polygon; its last point is joined to its first."""

    polygon_mm: tuple[PointMm, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """The area a round marker covers along a line; a single point is a dot."""

    line_mm: tuple[PointMm, ...]
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """Turn the sheet, anticlockwise as seen; the new sheet is the box round the turned one."""

    do: ClassVar[str] = "turn"
    turn_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mirror:
    """Swap left and right, or top and bottom."""

    do: ClassVar[str] = "mirror"
    is_left_right: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Crop:
    """Keep only a box of the sheet."""

    do: ClassVar[str] = "crop"
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Invert:
    """Make ink paper and paper ink."""

    do: ClassVar[str] = "invert"


@dataclass(frozen=True, slots=True, kw_only=True)
class Erase:
    """Make an area paper."""

    do: ClassVar[str] = "erase"
    area: Patch | Stroke


@dataclass(frozen=True, slots=True, kw_only=True)
class Keep:
    """Make everything outside an area paper."""

    do: ClassVar[str] = "keep"
    area: Patch


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveSpecks:
    """Make connected ink paper where its area is below a limit."""

    do: ClassVar[str] = "remove_specks"
    below_mm2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Flip:
    """Make the connected ink under a point paper, or the connected paper ink."""

    do: ClassVar[str] = "flip"
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """Make an area ink."""

    do: ClassVar[str] = "draw"
    area: Patch | Stroke


@dataclass(frozen=True, slots=True, kw_only=True)
class SetIn:
    """Add the ink of another drawing, the middle of its box at a place, at a width or a height."""

    do: ClassVar[str] = "set_in"
    drawing: CurvedArtwork
    x_mm: float
    y_mm: float
    width_mm: float | None = None  # of the ink's box after turning
    height_mm: float | None = None
    turn_deg: float = 0.0  # anticlockwise as seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Thicken:
    """Move the ink's edge outwards, everywhere or within an area."""

    do: ClassVar[str] = "thicken"
    by_mm: float
    within: Patch | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Thin:
    """Move the ink's edge inwards, everywhere or within an area."""

    do: ClassVar[str] = "thin"
    by_mm: float
    within: Patch | None = None


TouchUp = Turn | Mirror | Crop | Invert | Erase | Keep | RemoveSpecks | Flip | Draw | SetIn | Thicken | Thin
