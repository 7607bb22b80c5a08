"""Pictures embedded in an SVG: decoded here under the limits of all pictures, traced by whoever can."""

from __future__ import annotations

import base64
import binascii
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from urllib.parse import unquote_to_bytes
from xml.etree.ElementTree import Element

import numpy as np

from workers.errors import InputRejectedError
from workers.intake.coverage_file import coverage_of
from workers.intake.photo import MAX_PIXELS, decode_photo
from workers.intake.svg_area import Area, Loops, Paint, rectangle, transformed
from workers.intake.svg_colours import ADDS, VISIBLE_OPACITY
from workers.intake.svg_painting import inked
from workers.intake.svg_place import Place
from workers.intake.svg_transforms import Matrix, box_to_viewport, moved, scaled
from workers.intake.svg_tree import link_of
from workers.values.image import ColourImage, InkCoverage
from workers.values.outlines import Outlines

if TYPE_CHECKING:
    from workers.intake.svg_walk import Walk

LONGEST_LINK = 60  # characters that are told of it
FINEST_MM_PER_PX, COARSEST_MM_PER_PX = 0.001, 10.0
_DATA = re.compile(r"data:[\w/+.;=-]*?(;base64)?,", re.IGNORECASE)


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A picture within a drawing: what is ink in it, and where it lies."""

    coverage: InkCoverage
    to_sheet: Matrix  # from its own mm, y up from its lower left, to those of the sheet
    clips: tuple[Area, ...]

    def corners_mm(self) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        """Return its four corners on the sheet."""
        rows, columns = self.coverage.pixels.shape
        width, height = columns * self.coverage.mm_per_px, rows * self.coverage.mm_per_px
        return transformed(np.array([[0, 0], [width, 0], [width, height], [0, height]], float), self.to_sheet)


def picture_of(walk: Walk, element: Element, place: Place) -> Picture | None:
    """Return an image element's picture on the page, y down; None and a note if it cannot be had.

    Args:
        walk: The walk that comes to it.
        element: The image element.
        place: Its place.

    Source: SVG 2, 12.3 and 8.2 (placement); RFC 2397 (data URLs).
    """
    if place.style["visibility"] != "visible" or place.opacity == 0:
        return None
    if place.opacity < VISIBLE_OPACITY:
        walk.notes.add("svg-pale-paint", f"a picture of {place.opacity:.0%} opacity")
        return None
    link = link_of(element)
    if link and not link.startswith(("data:", "#")):
        walk.notes.add(
            "svg-image-elsewhere", link if len(link) <= LONGEST_LINK else link[:LONGEST_LINK] + "..."
        )
        return None
    try:
        image = decode_photo(_embedded(link), walk.source.pointer)
    except (InputRejectedError, ValueError) as error:
        walk.notes.add("svg-image-left-out", str(error)[:80])
        return None
    rows, columns = image.pixels.shape[:2]
    if sum(picture.coverage.pixels.size for picture in walk.pictures) + rows * columns > MAX_PIXELS:
        walk.notes.add("svg-image-left-out", "more pixels in all than one picture may have")
        return None
    found = _placed(image, element, place)
    walk.notes.add(*_told(found))
    return found


def _told(picture: Picture | None) -> tuple[str, str]:
    if picture is None:
        return "svg-image-left-out", "of no size, or beyond reach"
    rows, columns = picture.coverage.pixels.shape
    return "svg-image-traced", f"{columns} x {rows} pixels"


def _embedded(link: str) -> bytes:
    """Return the bytes of a data URL.

    Raises:
        ValueError: It is none, or broken.
    """
    found = _DATA.match(link)
    if not found:
        raise ValueError("no picture inside of the file")
    raw = unquote_to_bytes(link[found.end() :])
    if not found[1]:
        return raw
    try:
        return base64.b64decode(re.sub(rb"\s+", b"", raw), validate=True)
    except binascii.Error as error:
        raise ValueError("its base64 is broken") from error


def _placed(image: ColourImage, element: Element, place: Place) -> Picture | None:
    """Return a decoded picture where its element puts it."""
    rows, columns = image.pixels.shape[:2]
    view = place.viewport
    width = view.across(element.get("width"), -1.0)
    height = view.down(element.get("height"), -1.0)
    if width < 0 and height < 0:
        width, height = float(columns), float(rows)
    width = height * columns / rows if width < 0 else width
    height = width * rows / columns if height < 0 else height
    if width == 0 or height == 0:
        return None
    keep = element.get("preserveAspectRatio")
    frame = place.matrix @ moved(view.across(element.get("x")), view.down(element.get("y")))
    from_px = frame @ box_to_viewport((0.0, 0.0, columns, rows), width, height, keep)
    mm_per_px = math.sqrt(abs(np.linalg.det(from_px[:2, :2])))
    if not FINEST_MM_PER_PX <= mm_per_px <= COARSEST_MM_PER_PX:
        return None
    clips = (
        (*place.clips, rectangle(0.0, 0.0, width, height, frame)) if "slice" in (keep or "") else place.clips
    )
    upwards = moved(0.0, rows) @ scaled(1 / mm_per_px, -1 / mm_per_px)
    return Picture(coverage_of(image, mm_per_px), from_px @ upwards, clips)


def turned_up(picture: Picture, to_sheet: Matrix) -> Picture:
    """Return a picture carried from the page to the sheet."""
    clips = tuple(
        replace(clip, loops=tuple(transformed(loop, to_sheet) for loop in clip.loops))
        for clip in picture.clips
    )
    return replace(picture, to_sheet=to_sheet @ picture.to_sheet, clips=clips)


def with_pictures(outlines: Outlines, pictures: Sequence[Picture], traced: Sequence[Outlines]) -> Outlines:
    """Return a drawing's outlines together with those of its pictures.

    Args:
        outlines: The drawing's own, mm.
        pictures: Its pictures.
        traced: The outlines of each picture's coverage, in the picture's own frame.
    """
    paints = [Paint(Area(outlines.loops, True), ADDS)] if outlines.loops else []
    for picture, own in zip(pictures, traced, strict=True):
        loops: Loops = tuple(transformed(loop, picture.to_sheet) for loop in own.loops)
        paints.append(Paint(Area(loops, True), ADDS, picture.clips))
    return replace(outlines, loops=inked(paints, (outlines.width_mm, outlines.height_mm)).loops)
