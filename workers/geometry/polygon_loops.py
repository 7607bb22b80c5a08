"""Polygons as closed loops of straight pieces, as curves are held."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

Loops = tuple[NDArray[np.float64], ...]


def loops_of(polygons: MultiPolygon) -> Loops:
    """Return the rings of polygons as loops (n, 4, 2), inner control points at the thirds."""
    rings = shapely.get_rings(shapely.get_parts(polygons))
    return tuple(straight_pieces(shapely.get_coordinates(ring)) for ring in rings)


def straight_pieces(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the straight pieces (n - 1, 4, 2) from each point (n, 2) to the next."""
    a, b = points[:-1], points[1:]
    return np.stack([a, a + (b - a) / 3, a + (b - a) * 2 / 3, b], axis=1)
