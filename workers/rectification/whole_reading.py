"""Pictures read from rim to rim: scans, and photos of which no sheet's size is told."""

from __future__ import annotations

import numpy as np

from workers.errors import ParameterOutOfRangeError
from workers.rectification.choosing import Candidate
from workers.rectification.photo_quality import photo_quality
from workers.rectification.reading_light import ReadingLight, picture_light
from workers.rectification.reduced import ReducedPhoto, reduced_photo
from workers.rectification.warp import MOST_PIXELS, MOST_PX_PER_MM
from workers.rectification.whole_picture import blankness
from workers.values.finding import Finding, Severity
from workers.values.image import ColourImage
from workers.values.sheet import KnownLength

ASSUMED_MM_PER_PX = 0.1


def judged_whole(photo: ColourImage, hint: KnownLength | None) -> Candidate:
    """Return a photo judged as a drawing from rim to rim.

    Args:
        photo: The photo.
        hint: A length in it, if one is known.
    """
    small = reduced_photo(photo.pixels)
    scale, _ = whole_scale_mm_per_px(photo, hint)
    return blank_candidate(small) or whole_candidate(photo, small, scale, "the whole picture is the drawing")


def blank_candidate(small: ReducedPhoto) -> Candidate | None:
    """Return a photo as one in which nothing can be told, None if there is something.

    Args:
        small: The photo, made small.
    """
    blank = blankness(small.pixels)
    return Candidate(None, None, blank, blank=True) if blank else None


def whole_candidate(photo: ColourImage, small: ReducedPhoto, mm_per_px: float, reason: str) -> Candidate:
    """Return a photo judged from rim to rim.

    Args:
        photo: The photo.
        small: The same, made small.
        mm_per_px: Its scale.
        reason: Why its rim is the sheet's, or the drawing's.
    """
    rows, columns = photo.pixels.shape[:2]
    frame = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], np.float64)
    return Candidate(photo_quality(photo.pixels, small, frame, 1 / mm_per_px), None, reason)


def whole_scale_mm_per_px(photo: ColourImage, hint: KnownLength | None) -> tuple[float, bool]:
    """Return mm per pixel, and whether it is a guess.

    Args:
        photo: The photo.
        hint: A length in it, if one is known.

    Raises:
        ParameterOutOfRangeError: The length is too short to measure by, or not in the picture.
    """
    if hint is None:
        return photo.mm_per_px or ASSUMED_MM_PER_PX, photo.mm_per_px is None
    rows, columns = photo.pixels.shape[:2]
    start, end = np.array(hint.start_px), np.array(hint.end_px)
    length_px = float(np.linalg.norm(end - start))
    within = all(0 <= x <= columns and 0 <= y <= rows for x, y in (hint.start_px, hint.end_px))
    if not within or length_px < 10 or not hint.length_mm > 0:
        raise ParameterOutOfRangeError(
            f"a known length of {hint.length_mm} mm over {length_px:.1f} pixels of a picture of "
            f"{columns} x {rows} pixels",
            field="/inputs/sheet/between",
            remedy="give two points of the first photo, upright, at least 10 pixels apart",
        )
    return hint.length_mm / length_px, False


def whole_light(photo: ColourImage, mm_per_px: float, by_colour: bool) -> tuple[ReadingLight, float]:
    """Return the light of the whole picture, made smaller only where it is finer than of use, and its scale.

    Args:
        photo: The photo.
        mm_per_px: Its scale.
        by_colour: Whether coloured ink counts as dark as it is in any colour; else as dark as it looks.
    """
    rows, columns = photo.pixels.shape[:2]
    finest_mm = 1.0 / MOST_PX_PER_MM / 1.25
    shrink = max(finest_mm / mm_per_px, (rows * columns / MOST_PIXELS) ** 0.5, 1.0)
    read = picture_light(photo.pixels, mm_per_px, shrink, by_colour)
    return read, mm_per_px * columns / read.light.shape[1]


def scale_findings(photo: ColourImage, hint: KnownLength | None, unused_count: int) -> list[Finding]:
    """Return where the scale came from, unless the file itself stated it.

    Args:
        photo: The photo that is read.
        hint: A length in it, if one is known.
        unused_count: How many photos were not looked at.
    """
    found = []
    if unused_count:
        found.append(
            Finding(
                code="one-photo-used",
                severity=Severity.NOTE,
                message="the known length is in the first photo, so the others were not looked at",
                remedy="give the sheet's size instead if the best photo is to be chosen",
            )
        )
    if hint is not None:
        found.append(
            Finding(
                code="known-length-used",
                severity=Severity.NOTE,
                message=f"no sheet was looked for: {hint.length_mm:g} mm between two points set the scale, "
                "and a tilt of the camera was not taken out",
                remedy="hold the phone square above the drawing, or photograph all of a sheet of known size",
            )
        )
    elif whole_scale_mm_per_px(photo, hint)[1]:
        found.append(
            Finding(
                code="scale-assumed",
                severity=Severity.WARNING,
                message=f"the picture does not say how large it is; {ASSUMED_MM_PER_PX} mm a pixel was taken",
                remedy="give the art a width or height on the board, or photograph a sheet of known size",
            )
        )
    return found
