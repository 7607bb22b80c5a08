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
    whole, small = 1, pixels
    while max(rows, columns) // (2 * whole) >= LONG_SIDE_PX and min(rows, columns) // (2 * whole) >= 8:
        whole *= 2  # by halves first: OpenCV has a quick way for these alone
        even = small[: small.shape[0] // 2 * 2, : small.shape[1] // 2 * 2]
        halved = cv2.resize(even, (even.shape[1] // 2, even.shape[0] // 2), interpolation=cv2.INTER_AREA)
        small = np.asarray(halved, np.uint8)
    width, height = small.shape[1] * whole, small.shape[0] * whole
    shrink = max(small.shape[:2]) / LONG_SIDE_PX
    if shrink > 1.0:  # by less than two: linear between pixels leaves few of them out, ten times as fast
        size = (max(1, round(small.shape[1] / shrink)), max(1, round(small.shape[0] / shrink)))
        small = np.asarray(cv2.resize(small, size, interpolation=cv2.INTER_LINEAR), np.uint8)
    return ReducedPhoto(small, np.array([width / small.shape[1], height / small.shape[0]]))
