"""The part of a sheet that the picture does not show: bare paper, as far as anybody can tell."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.illumination import carried_on

_CELL_PX = 16
_BRIGHTEST = np.ones((7, 7), np.uint8)  # cells, more than most strokes fill


def left_bare(
    light: NDArray[np.uint16], seen_px: NDArray[np.float32], frame_px: tuple[int, int]
) -> NDArray[np.uint16]:
    """Return the light of a sheet with what lies beyond the picture's rim like the paper next to it.

    Args:
        light: (rows, columns), laid square.
        seen_px: (down, across, 2) where an even grid of the sheet's points is seen.
        frame_px: The picture's columns and rows.
    """
    gap = np.minimum(seen_px, np.array(frame_px, np.float32) - seen_px).min(axis=2)  # inside: positive
    if gap.min() > 0:
        return light
    rows, columns = light.shape
    is_seen = cv2.resize(gap, (columns, rows), interpolation=cv2.INTER_LINEAR) > 1.0
    cells = (max(2, columns // _CELL_PX), max(2, rows // _CELL_PX))
    known = np.asarray(cv2.resize(is_seen.astype(np.float32), cells, interpolation=cv2.INTER_AREA)) > 0.99
    coarse = np.asarray(cv2.resize(light, cells, interpolation=cv2.INTER_AREA), np.float32)
    bright = np.asarray(cv2.dilate(np.where(known, coarse, 0).astype(np.float32), _BRIGHTEST), np.float32)
    paper = carried_on(bright, known.astype(np.float32))
    large = cv2.resize(paper, (columns, rows), interpolation=cv2.INTER_LINEAR)
    return np.where(is_seen, light, np.asarray(large, np.uint16))
