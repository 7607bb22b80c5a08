"""Ink made wider by a distance, to a fraction of a pixel.

The edge of the ink is where coverage, taken as linear between pixel centres, is half. Every
pixel near it learns its distance to that line; the new coverage falls from 1 to 0 across one
pixel at the wanted distance, so that its half lies there.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

_HALF = 127.5


def widened(pixels: NDArray[np.uint8], by_px: float) -> NDArray[np.uint8]:
    """Return a picture (0 ink, 255 paper) whose ink reaches a distance farther.

    Args:
        pixels: Rows and columns; beyond its rim nothing is known, so nothing grows in from there.
        by_px: The distance, px.
    """
    reach_px = max(by_px + 0.5, 1.0)
    distance = _edge_distance(pixels, reach_px)
    is_ink = pixels < _HALF
    signed = np.where(is_ink, -distance, distance)
    paper = np.clip(signed + np.float32(0.5 - by_px), 0.0, 1.0) * np.float32(255.0)
    wider: NDArray[np.uint8] = np.minimum(pixels, np.rint(paper).astype(np.uint8))
    return wider


def reach_rows(by_px: float) -> int:
    """Return how many pixels away an edge may lie and still matter."""
    return math.ceil(by_px) + 3


@njit(cache=True, nogil=True)
def _edge_distance(pixels: NDArray[np.uint8], reach_px: float) -> NDArray[np.float32]:
    """Return each pixel centre's distance to the ink's edge, px; a large number beyond the reach."""
    rows, columns = pixels.shape
    square = np.full((rows, columns), 1e12, np.float32)
    along = np.empty((4, 2), np.float64)  # where the edge crosses a cell's sides, clockwise from the top
    for row in range(rows - 1):
        for column in range(columns - 1):
            a, b = float(pixels[row, column]), float(pixels[row, column + 1])
            c, d = float(pixels[row + 1, column + 1]), float(pixels[row + 1, column])
            ink = int(a < _HALF) + int(b < _HALF) + int(c < _HALF) + int(d < _HALF)
            if ink == 0 or ink == 4:
                continue
            found = 0
            if (a < _HALF) != (b < _HALF):
                along[found, 0], along[found, 1] = column + (_HALF - a) / (b - a), row
                found += 1
            if (b < _HALF) != (c < _HALF):
                along[found, 0], along[found, 1] = column + 1, row + (_HALF - b) / (c - b)
                found += 1
            if (c < _HALF) != (d < _HALF):
                along[found, 0], along[found, 1] = column + (_HALF - d) / (c - d), row + 1
                found += 1
            if (d < _HALF) != (a < _HALF):
                along[found, 0], along[found, 1] = column, row + (_HALF - a) / (d - a)
                found += 1
            if found == 2:
                _near(square, along[0], along[1], reach_px)
            elif (a + b + c + d < 4 * _HALF) == (a < _HALF):  # the ink, or paper, of corner a reaches across
                _near(square, along[0], along[1], reach_px)
                _near(square, along[2], along[3], reach_px)
            else:
                _near(square, along[3], along[0], reach_px)
                _near(square, along[1], along[2], reach_px)
    return np.sqrt(square)


@njit(cache=True, nogil=True)
def _near(
    square: NDArray[np.float32], start: NDArray[np.float64], end: NDArray[np.float64], reach_px: float
) -> None:
    """Lower the squared distance of every pixel near one piece of the edge, in place."""
    rows, columns = square.shape
    x0, y0 = start
    dx, dy = end[0] - x0, end[1] - y0
    length2 = max(dx * dx + dy * dy, 1e-18)
    top, bottom = min(y0, end[1]) - reach_px, max(y0, end[1]) + reach_px
    left, right = min(x0, end[0]) - reach_px, max(x0, end[0]) + reach_px
    for row in range(max(0, int(np.ceil(top))), min(rows - 1, int(np.floor(bottom))) + 1):
        for column in range(max(0, int(np.ceil(left))), min(columns - 1, int(np.floor(right))) + 1):
            x, y = column - x0, row - y0
            t = min(max((x * dx + y * dy) / length2, 0.0), 1.0)
            off_x, off_y = x - t * dx, y - t * dy
            found = off_x * off_x + off_y * off_y
            if found < square[row, column]:
                square[row, column] = found
