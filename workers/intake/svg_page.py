"""The page of an SVG: its size in mm, and where its user units lie on it."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree.ElementTree import Element

from workers.errors import ParameterOutOfRangeError
from workers.intake.svg_lengths import MM_PER_PX, is_length, length_px, unit_of, view_box
from workers.intake.svg_notes import Notes
from workers.intake.svg_transforms import Matrix, box_to_viewport, scaled

LARGEST_SIDE_MM = 10_000.0
WORKING_SIDE_MM = 200.0  # an icon may be enlarged to a board: what is exact here is exact there
MOST_ENLARGED = 100.0


@dataclass(slots=True)
class Page:
    """The sheet, and the matrix from user units to its mm, y still down.

    A small drawing is read enlarged, so that tolerances in mm are small against it whatever becomes of it.
    """

    width_mm: float
    height_mm: float
    viewport: tuple[float, float]
    matrix: Matrix
    is_guessed: bool
    notes: Notes

    @property
    def enlargement(self) -> float:
        """How many times its size the drawing is read at."""
        longer_mm = max(self.width_mm, self.height_mm)
        return 1.0 if self.is_guessed else min(max(WORKING_SIDE_MM / longer_mm, 1.0), MOST_ENLARGED)


def page_of(root: Element, field: str) -> Page:
    """Return the page as its width, height and view box say; what they do not say is assumed and noted."""
    notes = Notes()
    units = [unit_of(root.get(key)) for key in ("width", "height")]
    box = view_box(root.get("viewBox"))
    sides = [
        length_px(root.get(key), 0.0) if unit not in (None, "%") else 0.0
        for key, unit in zip(("width", "height"), units, strict=True)
    ]
    for key in ("width", "height"):
        if (text := root.get(key, "").strip()) not in ("", "auto") and not is_length(text):
            notes.add("svg-length-ignored", f"svg {key}={text[:20]}")
    if any(unit in ("", "px") for unit in units):
        notes.add("svg-size-in-pixels", "a size in pixels")
    if box is not None and not all(sides):
        if not any(sides):
            notes.add("svg-size-assumed", "no size")
            sides = [box[2], box[3]]
        elif sides[0]:
            sides[1] = sides[0] * box[3] / box[2]
        else:
            sides[0] = sides[1] * box[2] / box[3]
    is_guessed = not all(sides)
    if is_guessed:
        notes.add("svg-size-assumed", "no size")
    matrix = scaled(MM_PER_PX, MM_PER_PX)
    if box is not None and not is_guessed:
        matrix = matrix @ box_to_viewport(box, sides[0], sides[1], root.get("preserveAspectRatio"))
    width_mm, height_mm = (round(side * MM_PER_PX, 9) for side in sides)  # mm in, the same mm out
    if max(width_mm, height_mm) > LARGEST_SIDE_MM:
        raise ParameterOutOfRangeError(
            f"the SVG is {width_mm:.0f} x {height_mm:.0f} mm; no side may be over {LARGEST_SIDE_MM:.0f} mm",
            field=field,
            remedy="Give the drawing its true size in mm.",
        )
    viewport = (box[2], box[3]) if box is not None else (sides[0] or 300.0, sides[1] or 150.0)
    return Page(width_mm, height_mm, viewport, matrix, is_guessed, notes)
