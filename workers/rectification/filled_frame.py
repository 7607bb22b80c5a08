"""Sheets that fill the picture: two opposite sides beyond it, or all four.

Two opposite sides meet in a vanishing point, which is their direction, and their distance is known.
How far the sheet leans about that direction nothing shows, so it is taken not to lean; and where
along them it lies, so the picture's middle is taken for the sheet's.

Source: Hartley and Zisserman, Multiple View Geometry in Computer Vision, 2nd edition 2004,
section 8.6 (vanishing points and directions seen by a calibrated camera).
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.cut_off_sheets import CutOffSheet
from workers.rectification.edge_lines import EdgeLine
from workers.rectification.reduced import ReducedPhoto
from workers.values.sheet import SheetSize

Array = NDArray[np.float64]

LEAN_DEG = 8.0  # by which a phone held level by hand may lean without its holder's noticing
_LEAST_SHARE = 0.75  # of each of the two sides, as far as it is in the picture, shows an edge
_ALL_ALONG = 0.93  # of the picture is how far one of them runs
_PART_ALONG = 0.45  # and the other, that leaves it beside
_MOST_SHOWN = 1.04  # of the sheet's length: of more its ends would be in the picture
_MOSTLY_SHOWN = 0.75  # of it: less, and it may as well lie the other way
_LEAST_SHOWN = 0.4  # of it: less is no drawing
_TWO_SIDES_WORTH = 0.8  # of a sheet with as clear sides, all four of which are seen
_RIM_FRACTION = 0.02
_PIECES = 12  # of each rim, so short that a lamp's light hardly changes along them
_EVEN = 0.05  # spread of a piece's values, 0..1; a table's grain spreads more
_AS_BRIGHT = 0.7  # of the brightest paper's value: a lamp's falloff leaves so much
_AS_DARK, _LEAST_INK = 0.5, 0.002  # of that value, and how much of the picture is so dark
_MOSTLY = 0.85  # of the pieces: strokes may run out of the picture


def filled_lengthwise(
    lines: list[list[EdgeLine]], half_frame: Array, size: SheetSize, focal_px: float
) -> list[CutOffSheet]:
    """Return candidates for a sheet of which two opposite sides are seen, the most believable first.

    Args:
        lines: Candidates for top, right, bottom and left side.
        half_frame: Half the picture's width and height, px.
        size: The sheet's sides, in either order.
        focal_px: Of the camera.
    """
    found = [
        sheet
        for first in (0, 1)  # top and bottom are seen, or right and left
        for one in lines[first]
        for other in lines[first + 2]
        if (sheet := _between(first, one, other, half_frame, size, focal_px)) is not None
    ]
    return sorted(found, key=lambda sheet: -sheet.score)


def lean_mm(size_mm: tuple[float, float], shown_mm: float) -> float:
    """Return how far off places on such a sheet may be, for a lean of ``LEAN_DEG`` that nothing shows.

    Args:
        size_mm: The sheet's width and height.
        shown_mm: Distance of the two sides that are seen.
    """
    return (1 - math.cos(math.radians(LEAN_DEG))) * max(size_mm) + 0.25 * shown_mm * math.radians(
        LEAN_DEG
    ) / 2


def paper_to_the_rim(small: ReducedPhoto) -> bool:
    """Return whether there is paper all along the picture's rim, under whatever smooth light, and ink within.

    Args:
        small: The photo, made small.
    """
    grey = cv2.GaussianBlur(cv2.cvtColor(small.pixels, cv2.COLOR_RGB2GRAY), (0, 0), 0.7)
    bright = float(np.percentile(grey[::3, ::3], 90))
    if np.mean(grey < _AS_DARK * bright) < _LEAST_INK:
        return False
    strip = max(2, round(_RIM_FRACTION * max(grey.shape)))
    rims = (grey[:strip], grey[-strip:], grey[:, :strip].T, grey[:, -strip:].T)
    pieces = [part for rim in rims for part in np.array_split(rim, _PIECES, axis=1)]
    paper = [
        np.median(piece) > _AS_BRIGHT * bright
        and np.percentile(piece, 95) - np.percentile(piece, 5) < _EVEN * 255
        for piece in pieces
    ]
    return bool(np.mean(paper) >= _MOSTLY)


def filled_scale_mm_per_px(frame_px: tuple[int, int], size: SheetSize) -> float:
    """Return the scale of a picture that shows as much of a sheet as its shape can.

    Args:
        frame_px: Columns and rows.
        size: The sheet's sides, in either order.
    """
    return min(
        side_mm / side_px
        for side_mm, side_px in zip(sorted((size.width_mm, size.height_mm)), sorted(frame_px), strict=True)
    )


def _between(
    first: int, one: EdgeLine, other: EdgeLine, half_frame: Array, size: SheetSize, focal_px: float
) -> CutOffSheet | None:
    """Return the sheet between two opposite lines, None if it is none."""
    (share, extent), (other_share, other_extent) = (_seen(line, half_frame, first) for line in (one, other))
    if min(share, other_share) < _LEAST_SHARE or max(extent, other_extent) < _ALL_ALONG:
        return None
    if min(extent, other_extent) < _PART_ALONG:
        return None
    lying = {(size.width_mm, size.height_mm), (size.height_mm, size.width_mm)}
    ways = [between_two_sides(one, other, first, half_frame, own, focal_px) for own in lying]
    corners = _only_way([way for way in ways if way is not None])
    if corners is None:
        return None
    every = np.ones(4)
    every[[first, first + 2]] = share, other_share
    score = _TWO_SIDES_WORTH * (share + other_share) / 2 * (0.8 + 0.2 * min(extent, other_extent))
    return CutOffSheet(corners, (1 - first, 3 - first), every, score)


def _only_way(ways: list[tuple[Array, float]]) -> Array | None:
    """Return the corners of the one way in which a sheet can lie, None if two ways are as likely.

    Args:
        ways: Corners, and how much of the sheet's length the picture shows.
    """
    if len(ways) == 1:
        return ways[0][0]
    likely = [corners for corners, shown in ways if shown > _MOSTLY_SHOWN]
    return likely[0] if len(likely) == 1 else None


def _seen(line: EdgeLine, half_frame: Array, axis: int) -> tuple[float, float]:
    """Return how much of a line's way through the picture shows an edge, and how long that way is.

    The second is a share of the picture along an axis.
    """
    low, high = line.within(half_frame)
    along = abs((-line.normal[1], line.normal[0])[axis])
    share = min(1.0, float(line.seen_between(np.array(low), np.array(high))) / max(high - low, 1.0))
    return share, float((high - low) * along / (2 * half_frame[axis]))


def between_two_sides(
    one: EdgeLine,
    other: EdgeLine,
    first: int,
    half_frame: Array,
    lying_mm: tuple[float, float],
    focal_px: float,
) -> tuple[Array, float] | None:
    """Return the corners (TL, TR, BR, BL, px from the picture's middle) of a sheet that does not lean.

    With them comes how much of its length the picture shows.

    Args:
        one: Its top side, or its right one.
        other: The side opposite.
        first: 0 if ``one`` is the top side, 1 if the right one.
        half_frame: Half the picture's width and height, px.
        lying_mm: The sheet's width and height as it lies.
        focal_px: Of the camera.

    Returns:
        None if the picture shows too little of a sheet so long, or would show its ends, or there is none.
    """
    across_mm, length_mm = lying_mm[1 - first], lying_mm[first]
    planes = [np.array([*(line.normal * focal_px), -line.offset_px]) for line in (one, other)]
    running = np.cross(planes[0], planes[1])
    if np.linalg.norm(running) < 1e-9:
        return None
    running *= np.sign(running[first]) / np.linalg.norm(running)  # to the right, or down
    normal = np.array([0.0, 0.0, 1.0]) - running[2] * running
    normal /= np.linalg.norm(normal)
    across = np.cross(running, normal)
    across *= np.sign(across[1 - first])  # down, or to the right
    places = [-(plane @ normal) / (plane @ across) for plane in planes]
    width = (places[1] - places[0]) * (1 - 2 * first)
    if not 1e-6 < width < np.inf:  # the right one is to the right of the left one
        return None
    depth = across_mm / width
    ends = []
    for edge in (-half_frame[first], half_frame[first]):  # where the middle line leaves the picture
        middle = depth * (normal + 0.5 * (places[0] + places[1]) * across)
        ray = (edge * middle[2] - focal_px * middle[first]) / (focal_px * running[first] - edge * running[2])
        ends.append(float(ray))
    shown = (ends[1] - ends[0]) / length_mm
    if not _LEAST_SHOWN <= shown <= _MOST_SHOWN:
        return None
    low, high = 0.5 * sum(ends) - length_mm / 2, 0.5 * sum(ends) + length_mm / 2
    near, far = sorted(places)
    order = ((near, low), (far, low), (far, high), (near, high)) if first else (
        (near, low), (near, high), (far, high), (far, low))  # fmt: skip
    points = np.array([depth * (normal + place * across) + end * running for place, end in order])
    if (points[:, 2] <= 0).any():
        return None
    return np.asarray(focal_px * points[:, :2] / points[:, 2:], np.float64), shown
