"""An area made smaller or larger by the same distance all round."""

from __future__ import annotations

import math
from collections.abc import Sequence

from workers.geometry.polygon_repair import region_of
from workers.values.region import Region

_CHORD_MM = 0.002  # how far the chords of a round join may be from its arc


def inset(region: Region, distance_mm: float) -> Region:
    """Return the part of the area that is at least the distance from its outline."""
    return inset_levels(region, [distance_mm])[0]


def inset_levels(region: Region, distances_mm: Sequence[float]) -> list[Region]:
    """Return one inset for each distance."""
    return [_buffered(region, -distance_mm) for distance_mm in distances_mm]


def outset(region: Region, distance_mm: float) -> Region:
    """Return the area with everything within the distance of it; corners become round."""
    return _buffered(region, distance_mm)


def _buffered(region: Region, distance_mm: float) -> Region:
    if not distance_mm:
        return region
    return region_of(region.polygons.buffer(distance_mm, quad_segs=quarter_pieces(distance_mm)))


def quarter_pieces(radius_mm: float, chord_mm: float = _CHORD_MM) -> int:
    """Return how many chords a quarter of a circle needs so that none is farther off than allowed."""
    half_step_rad = math.acos(max(0.0, 1 - chord_mm / abs(radius_mm)))
    return max(4, math.ceil(math.pi / 4 / half_step_rad))
