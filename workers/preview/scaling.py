"""Pictures of numbers made larger, smaller and softer."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

_LINEAR_TO = 1.6  # shrinking less than this, a linear reading skips no cell, at a quarter of the time
_BELL_PX = 3.0  # a wider bell is made on a smaller picture


def scaled(picture: Floats, rows: int, columns: int) -> Floats:
    """Return the picture in this many pixels; what shrinks is averaged."""
    averaging = len(picture) > _LINEAR_TO * rows
    how = cv2.INTER_AREA if averaging else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(picture, (columns, rows), interpolation=how), dtype=np.float32)


def blurred(picture: Floats, radius_px: float) -> Floats:
    """Return the mean round each pixel, weighted by a bell of this standard deviation."""
    rows, columns = picture.shape
    smaller = max(1, int(radius_px / _BELL_PX))
    small = cv2.resize(picture, (-(-columns // smaller), -(-rows // smaller)), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), radius_px / smaller)
    return np.asarray(cv2.resize(small, (columns, rows), interpolation=cv2.INTER_LINEAR), dtype=np.float32)
