"""Fewer points for the same path, within a stated deviation, in any number of dimensions."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def simplified(points_mm: Floats, tolerance_mm: float) -> Floats:
    """Return the path with every point left out that lies near enough to what remains.

    Args:
        points_mm: (n, d) the path; closed if it ends where it starts.
        tolerance_mm: No point left out is farther than this from its new straight piece.

    Returns:
        The points kept, first and last always among them; of a closed path also one far off.

    Source: Ramer 1972 and Douglas and Peucker 1973, measured to the piece itself and not to
    its line, so that a spur that doubles back stays; tests/reference/test_simplification.py.
    """
    if len(points_mm) < 3:
        return points_mm
    points_mm = np.ascontiguousarray(points_mm, np.float64)
    return points_mm[kept(points_mm, np.array([0, len(points_mm)], np.int32), tolerance_mm)]


@njit(cache=True)
def kept(points_mm: Floats, offsets: NDArray[np.int32], tolerance_mm: float) -> NDArray[np.bool_]:
    """Return which points of many paths stay; path i has rows offsets[i] to offsets[i + 1]."""
    stays = np.zeros(len(points_mm), np.bool_)
    stack = np.empty((len(points_mm) + 2, 2), np.int32)
    for path in range(len(offsets) - 1):
        first, last = offsets[path], offsets[path + 1] - 1
        if last < first:
            continue
        stays[first] = True
        stays[last] = True
        stack[0, 0], stack[0, 1] = first, last
        depth = 1
        while depth:
            depth -= 1
            low, high = stack[depth, 0], stack[depth, 1]
            worst_mm2, worst = _farthest(points_mm, low, high)
            if worst_mm2 > tolerance_mm * tolerance_mm:
                stays[worst] = True
                stack[depth, 0], stack[depth, 1] = low, worst
                stack[depth + 1, 0], stack[depth + 1, 1] = worst, high
                depth += 2
    return stays


@njit(cache=True)
def _farthest(points_mm: Floats, low: int, high: int) -> tuple[float, int]:
    """Return the squared distance and row of the point farthest from the piece low-high."""
    dimensions = points_mm.shape[1]
    length_mm2 = 0.0
    for axis in range(dimensions):
        length_mm2 += (points_mm[high, axis] - points_mm[low, axis]) ** 2
    worst_mm2, worst = -1.0, low
    for row in range(low + 1, high):
        along = 0.0
        for axis in range(dimensions):
            along += (points_mm[row, axis] - points_mm[low, axis]) * (
                points_mm[high, axis] - points_mm[low, axis]
            )
        share = min(1.0, max(0.0, along / length_mm2)) if length_mm2 > 0.0 else 0.0
        off_mm2 = 0.0
        for axis in range(dimensions):
            foot = points_mm[low, axis] + share * (points_mm[high, axis] - points_mm[low, axis])
            off_mm2 += (points_mm[row, axis] - foot) ** 2
        if off_mm2 > worst_mm2:
            worst_mm2, worst = off_mm2, row
    return worst_mm2, worst
