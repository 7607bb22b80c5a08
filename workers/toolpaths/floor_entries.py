"""Where a finer mill goes down: over cleared floor, and from there sideways into what is left."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.geometry.offsets import inset
from workers.toolpaths.circuit import Circuit
from workers.toolpaths.clearance import Clearance
from workers.toolpaths.rings import Room, linked_rings

Floats = NDArray[np.float64]

_CLEAR_MM = 0.1  # between the bit's edge and what stands, where it goes down


class FloorEntries:
    """The places on cleared floor where a mill can go straight down in air."""

    def __init__(self, clearance: Clearance, longest_mm: float) -> None:
        """Find them.

        Args:
            clearance: Where the mill goes, and what is at the depth already.
            longest_mm: Of the way from such a place to a ring.
        """
        air = inset(clearance.milled, clearance.radius_mm + _CLEAR_MM).polygons
        self.air_mm = air.intersection(clearance.room.polygons)
        self._room = Room(clearance.room)
        self._longest_mm = longest_mm

    def into(self, rings: Sequence[Circuit]) -> Floats | None:
        """Return the way from the nearest such place round the rings, (n, 2); None if there is no place near.

        Args:
            rings: In their order; the bit goes straight from one to the next.
        """
        if self.air_mm.is_empty:
            return None
        way = shapely.shortest_line(self.air_mm, shapely.LineString(rings[0].points_mm))
        way_mm = shapely.get_coordinates(way)
        if way.length > self._longest_mm or not self._room.holds(way_mm[None])[0]:
            return None
        begun = [rings[0].from_nearest(way_mm[1]), *rings[1:]]
        linked = linked_rings(begun, self._room, self._longest_mm)
        return np.vstack([way_mm[0], *(ring.points_mm for ring in linked[0])]) if len(linked) == 1 else None
