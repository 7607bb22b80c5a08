"""How much of each pixel polygons cover: exact areas, no samples.

Each side adds, in every row it passes, the area between itself and the right-hand rim of the
picture; with outer rings one way round and holes the other, running sums along the rows are the
covered areas. Only the box that the polygons touch is computed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numba import njit
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from workers.values.region import Region


@dataclass(frozen=True, slots=True, eq=False)
class Covered:
    """Coverage of a window of the picture; outside of it nothing is covered."""

    window: tuple[slice, slice]  # rows, columns
    fraction: NDArray[np.float32]  # 0 to 1, for each pixel of the window


def polygon_coverage(area: MultiPolygon, rows: int, columns: int, mm_per_px: float, top_mm: float) -> Covered:
    """Return the part of each pixel that lies in an area.

    Args:
        area: Polygons that lie on the picture, mm, y up.
        rows: Height of the picture, px.
        columns: Width of the picture, px.
        mm_per_px: Scale of the picture.
        top_mm: y of the picture's upper edge.
    """
    rings = [
        shapely.get_coordinates(ring)
        for polygon in Region(area).polygons.geoms  # turned: holes the other way round
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    if not rings:
        return Covered((slice(0, 0), slice(0, 0)), np.zeros((0, 0), np.float32))
    sides = np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    sides[:, 0::2] /= mm_per_px
    sides[:, 1::2] = (top_mm - sides[:, 1::2]) / mm_per_px
    np.clip(sides[:, 0::2], 0, columns, out=sides[:, 0::2])
    np.clip(sides[:, 1::2], 0, rows, out=sides[:, 1::2])
    left, top = np.floor(sides[:, :2].min(axis=0)).astype(int)
    right, bottom = np.ceil(sides[:, :2].max(axis=0)).astype(int)
    window = (slice(int(top), int(bottom)), slice(int(left), int(right)))
    sides -= np.array([left, top, left, top])
    return Covered(window, _summed(sides, int(bottom - top), int(right - left)))


@njit(cache=True, nogil=True)
def _summed(sides: NDArray[np.float64], rows: int, columns: int) -> NDArray[np.float32]:
    """Return covered areas (rows, columns) of polygons by their sides (x0, y0, x1, y1), px."""
    change = np.zeros((rows + 1, columns + 2), np.float64)
    for side in range(len(sides)):
        x0, y0, x1, y1 = sides[side]
        if y0 == y1:
            continue
        sign = 1.0
        if y0 > y1:
            x0, y0, x1, y1, sign = x1, y1, x0, y0, -1.0
        slope = (x1 - x0) / (y1 - y0)
        for row in range(int(y0), min(int(np.ceil(y1)), rows)):
            upper, lower = max(y0, float(row)), min(y1, row + 1.0)
            xa, xb = x0 + (upper - y0) * slope, x0 + (lower - y0) * slope
            if xa > xb:
                xa, xb = xb, xa
            xa, xb = min(max(xa, 0.0), float(columns)), min(max(xb, 0.0), float(columns))
            height = sign * (lower - upper)
            first, last = int(xa), int(xb)
            if first == last:
                beside = (xa + xb) / 2 - first
                change[row, first] += height * (1 - beside)
                change[row, first + 1] += height * beside
                continue
            for column in range(first, last + 1):
                start, end = max(xa, float(column)), min(xb, column + 1.0)
                share = height * (end - start) / (xb - xa)
                beside = (start + end) / 2 - column
                change[row, column] += share * (1 - beside)
                change[row, column + 1] += share * beside
    covered = np.empty((rows, columns), np.float32)
    for row in range(rows):
        total = 0.0
        for column in range(columns):
            total += change[row, column]
            covered[row, column] = min(abs(total), 1.0)
    return covered
