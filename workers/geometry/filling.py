"""The area that closed rings fill, by either rule, however they cross."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

Ring = NDArray[np.float64]


def filled(rings: list[Ring], is_even_odd: bool) -> MultiPolygon:
    """Return the area that rings fill, as valid polygons.

    Rings that do not cross are only put into each other. Others are cut where they
    cross, and every face is kept or left out by how often the rings go round it.

    Args:
        rings: Points (n, 2) of each ring, the first not repeated.
        is_even_odd: Fill what is gone round an odd number of times; else whatever is
            gone round more often one way than the other.
    """
    rings = [ring for ring in rings if len(ring) >= 3]
    if not rings:
        return MultiPolygon()
    if is_even_odd or len(rings) == 1:
        shapes = [Polygon(ring) for ring in rings]
        if shapely.is_valid(shapes).all():
            nested = _nested(shapes)
            if nested.is_valid:
                return nested
    return _filled_faces(rings, is_even_odd)


def _nested(shapes: list[Polygon]) -> MultiPolygon:
    """Return the polygons that rings make if none crosses another: each outer ring with its holes."""
    areas = shapely.area(shapes)
    seats = shapely.points([shape.exterior.coords[0] for shape in shapes])
    inside, around = shapely.STRtree(shapes).query(seats, predicate="within")
    is_other = areas[around] > areas[inside]
    inside, around = inside[is_other], around[is_other]
    depth = np.bincount(inside, minlength=len(shapes))
    holes: dict[int, list[Polygon]] = {int(outer): [] for outer in np.flatnonzero(depth % 2 == 0)}
    for index, outer in zip(inside, around, strict=True):
        if depth[index] % 2 == 1 and depth[outer] == depth[index] - 1:
            holes[int(outer)].append(shapes[index])
    return MultiPolygon(
        [
            Polygon(shapes[outer].exterior, [hole.exterior for hole in within])
            for outer, within in holes.items()
        ]
    )


def _filled_faces(rings: list[Ring], is_even_odd: bool) -> MultiPolygon:
    """Cut the rings where they cross; return the faces that count, joined."""
    sides = np.concatenate([np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in rings])
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(shapely.linestrings(sides))]))
    seats = shapely.get_coordinates(shapely.point_on_surface(faces))
    winding = np.zeros(len(faces), np.int64)
    frames = shapely.box(*np.array([[*ring.min(axis=0), *ring.max(axis=0)] for ring in rings]).T)
    for seat, ring in shapely.STRtree(frames).query(shapely.points(seats)).T:
        winding[seat] += _winding(rings[ring], seats[seat])
    is_filled = winding % 2 == 1 if is_even_odd else winding != 0
    return areas_of(shapely.union_all(faces[is_filled]))


def _winding(ring: Ring, seat: NDArray[np.float64]) -> int:
    """Return how often a ring goes round a point, positive anticlockwise with y up."""
    a, b = ring, np.roll(ring, -1, axis=0)
    is_up = (a[:, 1] <= seat[1]) & (b[:, 1] > seat[1])
    is_down = (a[:, 1] > seat[1]) & (b[:, 1] <= seat[1])
    side = (b[:, 0] - a[:, 0]) * (seat[1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (seat[0] - a[:, 0])
    return int(np.sum(is_up & (side > 0)) - np.sum(is_down & (side < 0)))


def areas_of(shape: shapely.Geometry, least_mm2: float = 0.0) -> MultiPolygon:
    """Return the polygons of any geometry, leaving out lines, points and what is not larger than a size."""
    parts = shapely.get_parts(shapely.get_parts(shape))
    return MultiPolygon([part for part in parts if isinstance(part, Polygon) and part.area > least_mm2])
