"""The sense in which outlines run: anticlockwise round ink, clockwise round holes, y up."""

from __future__ import annotations

import numpy as np
import shapely

from workers.geometry.flattening import flat_rings
from workers.intake.svg_area import Loops
from workers.intake.svg_repairs import ring_area

COARSE_MM = 0.02  # enough to tell inside from outside


def evenly_turned(loops: Loops) -> Loops:
    """Return loops that do not cross, each in the sense that its depth of nesting asks for.

    Args:
        loops: Closed cubic loops, mm, y up, filled even-odd.
    """
    rings = flat_rings(loops, COARSE_MM)
    usable = [index for index, ring in enumerate(rings) if len(ring) >= 3]
    shapes = np.array([shapely.Polygon(rings[index]) for index in usable], dtype=object)
    is_bent = ~shapely.is_valid(shapes)  # by being flattened so coarsely
    shapes[is_bent] = shapely.buffer(shapes[is_bent], 0)
    areas = np.abs([ring_area(rings[index]) for index in usable])
    seats = shapely.point_on_surface(shapes)  # not a corner, where loops may touch
    inside, around = shapely.STRtree(shapes).query(seats, predicate="intersects")
    is_other = areas[around] > areas[inside]
    depth = np.bincount(inside[is_other], minlength=len(usable))
    turned = list(loops)
    for index, level in zip(usable, depth, strict=True):
        if (ring_area(rings[index]) > 0) == (level % 2 == 1):
            turned[index] = np.ascontiguousarray(loops[index][::-1, ::-1])
    return tuple(turned)
