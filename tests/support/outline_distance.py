"""How far the outlines of two areas lie apart, by general geometry alone."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon


def overlap(one: MultiPolygon, other: MultiPolygon) -> float:
    """Return the common area as a share of the joint one."""
    common = one.intersection(other).area
    either = one.area + other.area - common
    return float(common / either) if either else 1.0


def boundary_distances(one: MultiPolygon, other: MultiPolygon, step: float) -> NDArray[np.float64]:
    """Return the distances of points along each outline, ``step`` apart, to the nearest of the other."""
    return np.concatenate([_distances(one, other, step), _distances(other, one, step)])


def parts_and_holes(area: MultiPolygon) -> tuple[int, int]:
    """Return how many parts there are, and how many holes in all of them."""
    return len(area.geoms), sum(len(part.interiors) for part in area.geoms)


def _distances(source: MultiPolygon, target: MultiPolygon, step: float) -> NDArray[np.float64]:
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(source.boundary, step)))
    sides = _sides(target)
    _, found = shapely.STRtree(sides).query_nearest(points, return_distance=True, all_matches=False)
    return np.asarray(found)


def _sides(area: MultiPolygon) -> NDArray[np.object_]:
    rings = shapely.get_rings(shapely.get_parts(area))
    points, owner = shapely.get_coordinates(rings, return_index=True)
    is_side = owner[1:] == owner[:-1]
    return np.asarray(shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)[is_side]))
