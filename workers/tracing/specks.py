"""Specks: marks and pinholes too small to have been drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

SPECK_MM2 = 0.05  # a dot of a quarter of a millimetre: finer than any marker, and no bit would show it
SPECK_PX2 = 12.0  # and seen by a few pixels only: what a fine scan shows clearly is kept


@dataclass(frozen=True, slots=True, eq=False)
class Sifted:
    """Loops without specks, and how many were left out."""

    points: NDArray[np.float64]
    starts: NDArray[np.int32]
    ink_specks: int
    paper_specks: int


def without_specks(points: NDArray[np.float64], starts: NDArray[np.int32], mm_per_px: float) -> Sifted:
    """Leave out loops that are small both on the paper and in pixels.

    What lies inside a speck is smaller still, so the even-odd rule holds for what remains.

    Args:
        points: Points of closed loops (n, 2), px, ink on the left.
        starts: Where each loop starts, and the end of the last (m + 1).
        mm_per_px: Scale of the picture.
    """
    areas = _areas(points, starts)
    largest = min(SPECK_MM2 / mm_per_px**2, SPECK_PX2)
    is_kept = np.abs(areas) >= largest
    lengths = np.diff(starts)
    kept_points = points[np.repeat(is_kept, lengths)]
    kept_starts = np.concatenate([[0], np.cumsum(lengths[is_kept])]).astype(np.int32)
    is_ink = areas > 0
    return Sifted(kept_points, kept_starts, int(np.sum(~is_kept & is_ink)), int(np.sum(~is_kept & ~is_ink)))


@njit(cache=True)
def _areas(points: NDArray[np.float64], starts: NDArray[np.int32]) -> NDArray[np.float64]:
    """Return each loop's area, px2, positive round ink (rows count downwards)."""
    areas = np.zeros(len(starts) - 1, np.float64)
    for loop in range(len(starts) - 1):
        last = points[starts[loop + 1] - 1]
        origin_x, origin_y = last[0], last[1]
        before_x = before_y = 0.0
        for i in range(starts[loop], starts[loop + 1]):
            x, y = points[i, 0] - origin_x, points[i, 1] - origin_y
            areas[loop] -= (before_x * y - x * before_y) / 2
            before_x, before_y = x, y
    return areas
