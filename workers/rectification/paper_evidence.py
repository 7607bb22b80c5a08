"""Whether paper lies between four lines: what tells a sheet from a pattern of its table."""

from __future__ import annotations

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

_THIN_PX = 7  # of the small photo; lines of paper, gaps of planks and most strokes are thinner
_INNER_PLACES, _INNER_PX, _INNER_COUNT = 64, 4, 4  # along a side, and how far inside of it
_JUMP = 20.0  # of 255, from place to place
_FREE_JUMPS = 6  # two things and a shadow across a side, both edges of each
_AS_PAPER = 0.5  # of the value of the brighter parts: in a shadow paper is no darker
_HIDDEN = 0.3  # of a side may lie under things that are as dark as a table
_CORNER_PX = 6.0
_LEAST_RIM_PX = 24.0  # of the picture's rim between two sides: of less nothing is said

Array = NDArray[np.float64]


def without_thin_lines(smooth: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return a small photo without its thin lines, dark or bright: a sheet's edge is no line but a border.

    Args:
        smooth: (rows, columns, 3).

    Source: closing and opening (Serra, Image Analysis and Mathematical Morphology, 1982).
    """
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_THIN_PX, _THIN_PX))
    closed = cv2.morphologyEx(smooth, cv2.MORPH_CLOSE, disc)
    return np.asarray(cv2.morphologyEx(closed, cv2.MORPH_OPEN, disc), np.uint8)


@njit(cache=True, nogil=True)
def paper_inside(corners: Array, broad: NDArray[np.uint8]) -> float:
    """Return how much it looks like paper all along the sheet's border in the picture, 0..1.

    That is inside of the worst of four sides, inside of the picture's rims where the sheet runs out of it,
    and in the corners. Paper is even, but for things across it, and it goes on into the corners. A chequered
    cloth and a tiled table have long edges too, but on both sides of them the pattern goes on; and where two
    sides of different things are taken together, there is table in some corner between them.

    Args:
        corners: (4, 2) TL, TR, BR, BL in the small photo.
        broad: (rows, columns, 3), the small photo without thin lines.
    """
    strips = np.full((8, _INNER_PLACES), -1.0)
    even = 1.0
    for side in range(4):
        first, last = corners[side], corners[(side + 1) % 4]
        even = min(even, _evenness(first, last, broad, strips[side]))
        first, last = _rim_between(corners, side, broad.shape[1], broad.shape[0])
        if np.hypot(last[0] - first[0], last[1] - first[1]) > _LEAST_RIM_PX:
            even = min(even, _evenness(first, last, broad, strips[4 + side]))
    return even * _bright_inside(strips) * _bright_corners(corners, broad, strips)


@njit(cache=True, nogil=True)
def _evenness(start: Array, end: Array, broad: NDArray[np.uint8], strip: Array) -> float:
    """Return 1 if along a line's inside values jump but a few times, less if more often; fill in the values.

    Args:
        start: (2,) the line, clockwise round the sheet.
        end: (2,)
        broad: (rows, columns, 3).
        strip: (places,) written to, where the picture shows the place.
    """
    along = end - start
    length = np.hypot(along[0], along[1])
    in_x, in_y = -along[1] / length, along[0] / length
    jumps_count, last = 0, -1.0
    for place in range(_INNER_PLACES):
        share = 0.04 + 0.92 * place / (_INNER_PLACES - 1)
        value, count = 0.0, 0
        for off in range(_INNER_PX, _INNER_PX + _INNER_COUNT):
            column = int(start[0] + share * along[0] + off * in_x)
            row = int(start[1] + share * along[1] + off * in_y)
            if 0 <= column < broad.shape[1] and 0 <= row < broad.shape[0]:
                value += float(broad[row, column, 1])
                count += 1
        if count:
            strip[place] = value / count
            jumps_count += last >= 0 and abs(value / count - last) > _JUMP
            last = value / count
    return max(0.0, min(1.0, 2.0 - jumps_count / _FREE_JUMPS))


@njit(cache=True, nogil=True)
def _rim_between(corners: Array, rim: int, columns: int, rows: int) -> tuple[Array, Array]:
    """Return the stretch of one of the picture's rims that lies between four sides, clockwise.

    Args:
        corners: (4, 2) TL, TR, BR, BL.
        rim: 0 top, 1 right, 2 bottom, 3 left.
        columns: Of the picture.
        rows: Of the picture.

    Returns:
        Its ends, (2,) each; the same twice where there is none.

    Source: clipping of a line by a convex polygon (Cyrus and Beck 1978).
    """
    frame = np.array([(0.0, 0.0), (columns, 0.0), (columns, rows), (0.0, rows)])
    start, along = frame[rim], frame[(rim + 1) % 4] - frame[rim]
    low, high = 0.0, 1.0
    for side in range(4):
        own, to_next = corners[side], corners[(side + 1) % 4] - corners[side]
        inside = to_next[0] * (start[1] - own[1]) - to_next[1] * (start[0] - own[0])
        slope = to_next[0] * along[1] - to_next[1] * along[0]
        if abs(slope) < 1e-9:
            high = high if inside >= 0 else low
        elif slope > 0:
            low = max(low, -inside / slope)
        else:
            high = min(high, -inside / slope)
    high = max(low, high)
    return start + low * along, start + high * along


@njit(cache=True, nogil=True)
def _paper_value(strips: Array) -> float:
    """Return the value of paper in a good light, as far as some strips show it."""
    seen = np.sort(strips.ravel()[strips.ravel() >= 0])
    return float(seen[int(0.8 * (len(seen) - 1))]) if len(seen) else 0.0


@njit(cache=True, nogil=True)
def _bright_inside(strips: Array) -> float:
    """Return 1 if along each strip nearly all is as bright as paper may be, less where a part is dark."""
    least = _AS_PAPER * _paper_value(strips)
    worst = 1.0
    for side in range(len(strips)):
        dark_count, count = 0, 0
        for value in strips[side]:
            if value >= 0:
                count += 1
                dark_count += value < least
        if count:
            worst = min(worst, 1.0 - max(0.0, dark_count / count - _HIDDEN) / (1 - _HIDDEN))
    return worst


@njit(cache=True, nogil=True)
def _bright_corners(corners: Array, broad: NDArray[np.uint8], strips: Array) -> float:
    """Return 1 if there is paper in all corners but one, of those that the picture shows; else less."""
    least = _AS_PAPER * _paper_value(strips)
    dark_count = 0
    for k in range(4):
        before, own, after = corners[(k + 3) % 4], corners[k], corners[(k + 1) % 4]
        to_before, to_after = before - own, after - own
        inward = to_before / np.hypot(to_before[0], to_before[1]) + to_after / np.hypot(
            to_after[0], to_after[1]
        )
        column, row = int(own[0] + _CORNER_PX * inward[0]), int(own[1] + _CORNER_PX * inward[1])
        if 0 <= column < broad.shape[1] and 0 <= row < broad.shape[0]:
            dark_count += float(broad[row, column, 1]) < least
    return (1.0, 0.9, 0.6, 0.3, 0.1)[dark_count]
