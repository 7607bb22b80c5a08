"""Floors cleared with an even load: opened from a helix, or from cleared floor, outwards."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon

from workers.geometry.ordering import shortest_order
from workers.toolpaths.circuit import Circuit, ramped_round
from workers.toolpaths.clearance import Clearance
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.floor_entries import FloorEntries
from workers.toolpaths.growth import Growth, Opening
from workers.toolpaths.leads import HELIX_DEG
from workers.toolpaths.strands import at_height
from workers.values.region import Region

Floats = NDArray[np.float64]

_TOUCHING_MM = 0.02  # chords of swept discs
_MISSED_MM2 = 1e-3


def opened_floors(
    clearance: Clearance, engagement_deg: float, step_mm: float, climb: bool, entries: FloorEntries
) -> tuple[list[Opening], Region]:
    """Return how each pocket is opened, in a good order; and the pockets left to rings, slots foremost.

    Args:
        clearance: Where the mill goes.
        engagement_deg: How much of its edge may be in the wood.
        step_mm: The widest step.
        climb: What stands on the right of the way.
        entries: Where the mill may go down in air.
    """
    openings: list[list[Opening]] = []
    slots: list[Polygon] = []
    for pocket in clearance.centres.polygons.geoms:
        found = Growth(clearance.radius_mm, engagement_deg, step_mm, climb).opened(pocket, entries.air_mm)
        if found and _is_swept(pocket, found, clearance):
            openings.append(found)
        else:
            slots.append(pocket)
    starts_mm = np.array([found[0].ways_mm[0][0] for found in openings]).reshape(-1, 2)
    order, _ = shortest_order(starts_mm, starts_mm)
    in_order = [opening for number in order.tolist() for opening in openings[number]]
    return in_order, Region(MultiPolygon(slots))


def _is_swept(pocket: Polygon, openings: list[Opening], clearance: Clearance) -> bool:
    """Whether the ways reach all of a pocket; if a growth should miss anything, rings do it instead."""
    radius_mm = clearance.radius_mm
    ways = [LineString(way) for opening in openings for way in opening.ways_mm if len(way) > 1]
    discs = [Polygon(opening.circle_mm) for opening in openings if opening.circle_mm is not None]
    swept = shapely.union_all([shape.buffer(radius_mm, quad_segs=32) for shape in [*ways, *discs]])
    done = swept.union(clearance.milled.polygons).buffer(_TOUCHING_MM)
    return bool(pocket.buffer(radius_mm, quad_segs=32).difference(done).area < _MISSED_MM2)


def opening_lines(opening: Opening, depth_mm: float, pass_depth_mm: float) -> Iterator[Floats]:
    """Yield the ways over a pocket in all its depth passes, (n, 3) each."""
    upper_mm = 0.0
    for pass_mm in pass_depths_mm(depth_mm, pass_depth_mm):
        first_mm, *others_mm = opening.ways_mm
        way_mm = at_height(first_mm, -pass_mm)
        if opening.circle_mm is not None:
            down_mm = ramped_round(Circuit(opening.circle_mm), upper_mm, -pass_mm, HELIX_DEG)
            way_mm = np.vstack([down_mm, way_mm[1:]])
        yield way_mm
        for other_mm in others_mm:
            yield at_height(other_mm, -pass_mm)
        upper_mm = -pass_mm
