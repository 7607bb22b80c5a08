"""Where end mills go to clear floors: the coarse one wherever it fits, finer ones where it did not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import shapely
from shapely.geometry import MultiPolygon

from workers.geometry.offsets import inset, outset
from workers.geometry.polygon_repair import region_of
from workers.toolpaths.open_ground import OpenGround
from workers.values.cutter import EndMill
from workers.values.region import Region

_LEAST_ROUND_RADII = 1.0  # a pocket the mill can hardly move in is left to the V-bit
_THINNEST_REST_MM = 0.05  # what a coarser mill leaves in thinner shreds is its rounding


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Clearance:
    """Where an end mill's centre goes so that it stays on the floor."""

    mill: EndMill
    centres: Region  # where it must come by
    room: Region  # where it may stand at the floor's depth
    milled: Region = field(
        default_factory=lambda: Region(MultiPolygon())
    )  # floor that is at the depth already

    @property
    def radius_mm(self) -> float:
        """Of the mill."""
        return self.mill.diameter_mm / 2

    def cleared(self, short_of_edge_mm: float) -> Region:
        """Return the floor that the mill has cut, less a margin all round."""
        if self.centres.polygons.is_empty:
            return self.centres
        return outset(self.centres, self.radius_mm - short_of_edge_mm)


def clearance_by(
    mill: EndMill,
    ink: Region,
    wall_foot_mm: float,
    before: Sequence[Clearance],
    over_edge: OpenGround | None = None,
) -> Clearance:
    """Return what a mill has to do; it may be nothing.

    Args:
        mill: The mill.
        ink: The area to cut.
        wall_foot_mm: How far the wall's foot is from the outline: slope x depth.
        before: What is done already, by coarser mills or on deeper floors.
        over_edge: How far floors are cut that run out over the board's edge, where there are such.
    """
    room = inset(ink, wall_foot_mm + mill.diameter_mm / 2)
    if over_edge is not None:
        room = region_of(room.polygons.intersection(over_edge.centres(mill.diameter_mm / 2)))
    centres = _roomy(_wanted(room, mill, before), mill)
    return Clearance(mill=mill, centres=centres, room=room, milled=cleared_by(before, 0.0))


def cleared_by(clearances: Sequence[Clearance], short_of_edge_mm: float) -> Region:
    """Return the floor that all mills together have cut, less a margin all round."""
    shapes = [clearance.cleared(short_of_edge_mm).polygons for clearance in clearances]
    return region_of(shapely.union_all(shapes))


def _wanted(room: Region, mill: EndMill, before: Sequence[Clearance]) -> Region:
    """Return the places from which the mill cuts what those before it have left."""
    if not before or room.polygons.is_empty:
        return room
    radius_mm = mill.diameter_mm / 2
    left = outset(room, radius_mm).polygons.difference(cleared_by(before, 0.0).polygons)
    solid = left.buffer(-_THINNEST_REST_MM / 2).buffer(_THINNEST_REST_MM / 2)
    return region_of(room.polygons.intersection(solid.buffer(radius_mm)))


def _roomy(centres: Region, mill: EndMill) -> Region:
    least_mm = _LEAST_ROUND_RADII * mill.diameter_mm / 2
    return Region(MultiPolygon([part for part in centres.polygons.geoms if part.exterior.length >= least_mm]))
