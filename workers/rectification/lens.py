"""A lens that bows straight lines: barrels of wide lenses, cushions of long ones.

Source: Brown, Decentering distortion of lenses, 1966, first radial term.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.reduced import ReducedPhoto

Array = NDArray[np.float64]

_ROUNDS = 12


def bowed(points_px: Array, bow: float, frame_px: tuple[int, int]) -> Array:
    """Return where a lens shows points that a straight one would show here.

    Args:
        points_px: (n, 2).
        bow: How far it moves the middle of the long side's ends outwards, share of their distance from
            the picture's middle; negative for a barrel.
        frame_px: The picture's columns and rows.
    """
    middle, half_side = np.array(frame_px) / 2, max(frame_px) / 2
    own = points_px - middle
    return np.asarray(middle + own * (1 + bow * (own**2).sum(axis=1) / half_side**2)[:, None], np.float64)


def straightened(points_px: Array, bow: float, frame_px: tuple[int, int]) -> Array:
    """Return where a straight lens would show points that this one shows here.

    What lies beyond the reach of a strong barrel stays near its rim.

    Args:
        points_px: (n, 2).
        bow: As for ``bowed``.
        frame_px: The picture's columns and rows.

    Source: Newton's method on the distance from the middle.
    """
    middle, half_side = np.array(frame_px) / 2, max(frame_px) / 2
    own = (points_px - middle) / half_side
    seen = np.linalg.norm(own, axis=1)
    most = np.inf if bow >= 0 else (-3 * bow) ** -0.5  # a barrel shows nothing from farther out
    true = np.minimum(seen, 0.95 * most)
    for _ in range(_ROUNDS):
        true -= (true * (1 + bow * true**2) - seen) / (1 + 3 * bow * true**2)
        true = np.clip(true, 0.0, 0.95 * most)
    return np.asarray(middle + own * (true / np.maximum(seen, 1e-12))[:, None] * half_side, np.float64)


def straightened_photo(small: ReducedPhoto, bow: float) -> ReducedPhoto:
    """Return a small photo as a straight lens would have taken it, the frame as large as it was.

    Args:
        small: The photo, made small.
        bow: As for ``bowed``.
    """
    rows, columns = small.pixels.shape[:2]
    y, x = np.mgrid[0:rows, 0:columns] + 0.5
    seen = bowed(np.column_stack([x.ravel(), y.ravel()]), bow, (columns, rows)).reshape(rows, columns, 2)
    places = (seen - 0.5).astype(np.float32)
    pixels = cv2.remap(
        small.pixels, places[..., 0], places[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return ReducedPhoto(np.asarray(pixels, np.uint8), small.stretch)
