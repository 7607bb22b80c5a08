"""Areas made whole after an operation that may leave lines, points or rings that cross."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from workers.values.region import Region

GRID_MM = 1e-5  # every ink coordinate is a multiple: a design read back from a file is the same design
_GRID_DECIMALS = 5


def region_of(shape: BaseGeometry, least_area_mm2: float = 0.0) -> Region:
    """Return the areas of a shape: valid, without loose lines and points.

    Args:
        shape: Any geometry, in mm.
        least_area_mm2: Parts not larger than this are left out.
    """
    if not shape.is_valid:
        shape = shapely.make_valid(shape, method="structure", keep_collapsed=False)
    found = [part for part in _polygons(shape) if part.area > least_area_mm2]
    return Region(MultiPolygon(found))


def on_grid(shape: BaseGeometry) -> Region:
    """Return the areas of a shape with every coordinate a multiple of the grid, still valid."""
    snapped = shapely.set_precision(shape, GRID_MM)
    return region_of(shapely.transform(snapped, _one_zero))  # else -0.0 or 0.0, by chance


def _one_zero(places_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return places whose zeros are all positive: one area, one sequence of bytes."""
    return places_mm + 0.0


def is_on_grid(region: Region) -> bool:
    """Tell whether every coordinate of an area is a multiple of the grid already."""
    points_mm = shapely.get_coordinates(region.polygons)
    return bool((points_mm == np.round(points_mm, _GRID_DECIMALS)).all())


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons in a shape, however deep they lie."""
    if isinstance(shape, Polygon):
        return [shape] if not shape.is_empty else []
    return [polygon for part in getattr(shape, "geoms", ()) for polygon in _polygons(part)]
