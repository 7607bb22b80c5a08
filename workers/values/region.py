"""Inked areas, and the drawing they make up."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon
from shapely.geometry.polygon import orient


@dataclass(frozen=True, slots=True)
class Region:
    """An area of the plane, in mm, y up: valid, outer rings counter-clockwise, holes clockwise."""

    polygons: MultiPolygon

    def __post_init__(self) -> None:
        if not self.polygons.is_valid:
            raise ValueError(f"an invalid area: {shapely.is_valid_reason(self.polygons)}")
        turned = MultiPolygon([orient(polygon) for polygon in self.polygons.geoms])
        object.__setattr__(self, "polygons", turned)


@dataclass(frozen=True, slots=True, kw_only=True)
class Artwork:
    """What somebody drew: its inked area on a sheet of known size, origin at the sheet's lower left."""

    ink: Region
    width_mm: float
    height_mm: float
