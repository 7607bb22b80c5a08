"""A drawing in SVG read into outlines: its inked area, in mm, y up.

What counts as ink: any paint that, on white paper, looks darker than half the luminance. Paint
that looks lighter than that even on black covers what lies beneath it, in the order of painting,
as white paint does on paper; what does neither is left out. Strokes count by the area that they
cover. Nothing that cannot be taken (text in fonts that are not at hand, filters) is dropped in
silence: a finding tells of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workers.errors import NoDrawingFoundError
from workers.intake.svg_area import Loops, transformed
from workers.intake.svg_colours import Reading
from workers.intake.svg_page import Page, page_of
from workers.intake.svg_painting import inked
from workers.intake.svg_pictures import Picture, turned_up
from workers.intake.svg_source import source_of
from workers.intake.svg_transforms import moved, scaled
from workers.intake.svg_tree import parse_svg
from workers.intake.svg_turning import evenly_turned
from workers.intake.svg_uses import refuse_bombs
from workers.intake.svg_walk import Walk
from workers.values.finding import Finding
from workers.values.outlines import Outlines


@dataclass(frozen=True, slots=True)
class SvgDocument:
    """A drawing's outlines, and what had to be assumed, repaired or left out."""

    outlines: Outlines
    notes: tuple[Finding, ...]
    pictures: tuple[Picture, ...] = ()  # still to be traced and added by ``with_pictures``


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
    notes = page.notes
    enlarged = page.enlargement
    source = source_of(root, field, notes, enlarged)
    refuse_bombs(source)
    walk = Walk(source, Reading.INK, notes)
    walk.draw_page(page)
    sides = None if page.is_guessed else (page.width_mm * enlarged, page.height_mm * enlarged)
    ink = inked(walk.paints, sides, notes)
    if ink.is_polygonal:
        notes.add("svg-curves-flattened", "overlapping shapes")
    if ink.is_cut:
        notes.add("svg-beyond-page", "ink beyond the page")
    if not ink.loops and not walk.pictures:
        raise NoDrawingFoundError(
            "nothing in the SVG is painted dark" + notes.in_brackets(),
            field=field,
            remedy="Send a drawing with dark fills or strokes; turn text into outlines first.",
        )
    left, top, width, height = _sheet(page, ink.loops, walk.pictures)
    turn_up = moved(-left, top + height) @ scaled(1 / enlarged, -1 / enlarged)
    loops = evenly_turned(tuple(transformed(loop, turn_up) for loop in ink.loops))
    return SvgDocument(
        Outlines(loops=loops, width_mm=width, height_mm=height),
        notes.findings(turn_up),
        tuple(turned_up(picture, turn_up) for picture in walk.pictures),
    )


def _sheet(page: Page, loops: Loops, pictures: Sequence[Picture]) -> tuple[float, float, float, float]:
    """Return left, top, width and height of the sheet; one of no stated size is as large as its ink."""
    if not page.is_guessed:
        return 0.0, 0.0, page.width_mm, page.height_mm
    every = np.concatenate(
        [loop.reshape(-1, 2) for loop in loops] + [picture.corners_mm() for picture in pictures]
    )
    (left, top), (width, height) = every.min(axis=0), np.ptp(every, axis=0)
    return float(left), float(top), float(width), float(height)
