"""A photo made small: enough to find a sheet in, and quick to look at."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

LONG_SIDE_PX = 640


@dataclass(frozen=True, slots=True, eq=False)
class ReducedPhoto:
    """A small copy of a photo; a point of it times ``stretch`` is the photo's."""

    pixels: NDArray[np.uint8]  # (rows, columns, 3), sRGB
    stretch: NDArray[np.float64]  # (2,) photo pixels to a pixel, across and down


def reduced_photo(pixels: NDArray[np.uint8]) -> ReducedPhoto:
    """Return a photo with its long side brought down to ``LONG_SIDE_PX``, never up.

    Args:
        pixels: (rows, columns, 3).
    """
    rows, columns = pixels.shape[:2]
    long_side = max(rows, columns)
    whole = max(1, min(long_side // (2 * LONG_SIDE_PX), min(rows, columns) // 8))
    width, height = columns // whole * whole, rows // whole * whole
    small = pixels[:height, :width]
    if whole > 1:  # by a whole number first: many times faster
        small = np.asarray(
            cv2.resize(small, (width // whole, height // whole), interpolation=cv2.INTER_AREA), np.uint8
        )
    shrink = max(small.shape[:2]) / LONG_SIDE_PX
    if shrink > 1.0:
        size = (max(1, round(small.shape[1] / shrink)), max(1, round(small.shape[0] / shrink)))
        small = np.asarray(cv2.resize(small, size, interpolation=cv2.INTER_AREA), np.uint8)
    return ReducedPhoto(small, np.array([width / small.shape[1], height / small.shape[0]]))
