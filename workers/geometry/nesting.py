"""Areas one within the other, whose outlines are the same where they all but meet."""

from __future__ import annotations

from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from workers.geometry.polygon_repair import GRID_MM, on_grid, region_of
from workers.values.region import Region

NARROWEST_MM = 0.1  # of a rim between two tones: nobody sees a narrower one (a choice)
_MITRE_LIMIT = 5.0  # corners sharper than 23 degrees come back with a blunt tip


def nested(outer: Region, inner: Region, narrow_mm: float = NARROWEST_MM) -> Region:
    """Return the inner area within the outer one, led out to its outline where only a narrow rim is between.

    Outlines that were drawn as one and read one by one differ by hairs. What is left between them
    afterwards is wider than ``narrow_mm`` or is not there.

    Args:
        outer: The area around.
        inner: What shall lie in it; what reaches beyond is cut off.
        narrow_mm: The rim's width, from which on it counts.
    """
    rim = outer.polygons.difference(inner.polygons, grid_size=GRID_MM)
    within = outer.polygons.difference(opened(rim, narrow_mm), grid_size=GRID_MM)
    return on_grid(region_of(within, narrow_mm**2).polygons)


def opened(shape: BaseGeometry, narrow_mm: float) -> MultiPolygon:
    """Return what of a shape is wider than a width; corners stay sharp.

    >>> from shapely.geometry import box
    >>> opened(box(0, 0, 10, 5).union(box(10, 2, 20, 2.1)), 0.2).bounds
    (0.0, 0.0, 10.0, 5.0)
    """
    kept = shape.buffer(-narrow_mm / 2, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    solid = kept.buffer(narrow_mm / 2, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    return region_of(solid.intersection(shape, grid_size=GRID_MM)).polygons
