"""A drawing in SVG read into outlines: its inked area, in mm, y up.

What counts as ink: any visible paint whose relative luminance is below one half.
Lighter paint covers what lies beneath it, in the order of painting, as white
paint does on paper. Paint less than half opaque is left out. Strokes count by the
area that they cover. Nothing that cannot be taken (text without outlines,
pictures, filters) is dropped in silence: a finding tells of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from workers.errors import NoDrawingFoundError
from workers.intake.svg_area import Loops
from workers.intake.svg_page import Page, page_of
from workers.intake.svg_painting import inked
from workers.intake.svg_tree import parse_svg
from workers.intake.svg_walk import Walk
from workers.values.finding import Finding
from workers.values.outlines import Outlines


@dataclass(frozen=True, slots=True)
class SvgDocument:
    """A drawing's outlines, and what had to be assumed or left out."""

    outlines: Outlines
    notes: tuple[Finding, ...]


def read_svg(data: bytes, field: str) -> SvgDocument:
    """Return the inked area of an SVG file as outlines.

    Args:
        data: The file; a user's or our own art.svg and design.svg.
        field: JSON pointer of the input that it came from.

    Raises:
        UnreadableImageError: It is not XML, or not SVG.
        UnsafeSvgError: Entities, scripts, references to elsewhere, or too many levels.
        ImageTooLargeError: More bytes, elements or shapes than this installation takes.
        NoDrawingFoundError: Nothing in it is painted dark.
        ParameterOutOfRangeError: It states a size that no board has.

    Source: SVG 2 (trade.md X-01 to X-14).
    """
    root = parse_svg(data, field)
    page = page_of(root, field)
    walk = Walk(root, field, page.notes)
    walk.draw_page(page)
    size = None if page.is_guessed else (page.width_mm, page.height_mm)
    loops, is_polygonal, is_cut = inked(walk.paints, size)
    if is_polygonal:
        page.notes.add("svg-curves-flattened", "overlapping shapes")
    if is_cut:
        page.notes.add("svg-beyond-page", "ink beyond the page")
    if not loops:
        raise NoDrawingFoundError(
            "nothing in the SVG is painted dark" + page.notes.in_brackets(),
            field=field,
            remedy="Send a drawing with dark fills or strokes; turn text into outlines first.",
        )
    return SvgDocument(_turned_up(loops, page), page.notes.findings())


def _turned_up(loops: Loops, page: Page) -> Outlines:
    """Return loops with y up; a page of no stated size is as large as its ink."""
    left = top = 0.0
    width, height = page.width_mm, page.height_mm
    if page.is_guessed:
        every = np.concatenate([loop.reshape(-1, 2) for loop in loops])
        left, top = every.min(axis=0)
        width, height = every.max(axis=0) - every.min(axis=0)
    turned = tuple(np.stack([loop[..., 0] - left, height - (loop[..., 1] - top)], axis=-1) for loop in loops)
    return Outlines(loops=turned, width_mm=float(width), height_mm=float(height))
