"""Floors with an end mill: rings from the inside to the wall, ramped into, in depth passes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from workers.geometry.offsets import inset, outset
from workers.geometry.ordering import shortest_order
from workers.geometry.path_simplification import simplified
from workers.toolpaths.circuit import Circuit, ramped_round
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.pace import PATH_TOLERANCE_MM, Pace, cut_path
from workers.toolpaths.rings import Room, linked_rings, pockets, ring_levels
from workers.toolpaths.strands import at_height
from workers.values.cutter import EndMill
from workers.values.cutting_plan import CutPath
from workers.values.region import Region

Floats = NDArray[np.float64]

_LONGEST_LINK_DIAMETERS = 4.0  # through uncut stock between rings; beyond it lifting and ramping is as quick
_WIDEST_STEP_RADII = 0.95  # rings no farther apart than the mill's radius leave nothing standing
_LEAST_ROUND_RADII = 1.0  # a pocket the mill can hardly move in is left to the V-bit


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Clearance:
    """Where an end mill's centre may go so that it stays on the floor."""

    centres: Region
    radius_mm: float

    def cleared(self, short_of_edge_mm: float) -> Region:
        """Return the floor that the mill has cut, less a margin all round."""
        if self.centres.polygons.is_empty:
            return self.centres
        return outset(self.centres, self.radius_mm - short_of_edge_mm)


def clearance_of(ink: Region, wall_foot_mm: float, mill: EndMill) -> Clearance:
    """Return where the mill fits.

    Args:
        ink: The area to cut.
        wall_foot_mm: How far the wall's foot is from the outline: slope x depth.
        mill: The clearing bit.
    """
    radius_mm = mill.diameter_mm / 2
    centres = inset(ink, wall_foot_mm + radius_mm)
    roomy = [
        part for part in centres.polygons.geoms if part.exterior.length >= _LEAST_ROUND_RADII * radius_mm
    ]
    return Clearance(centres=Region(MultiPolygon(roomy)), radius_mm=radius_mm)


def clearing_paths(
    clearance: Clearance, depth_mm: float, pass_depth_mm: float, stepover_mm: float, pace: Pace
) -> list[CutPath]:
    """Return the paths that take the floor down to its depth.

    Each pocket is finished before the next. Rings turn so that the wall is on the right:
    climb, with the spindle's usual sense (trade.md P-08).
    """
    if clearance.centres.polygons.is_empty:
        return []
    step_mm = min(stepover_mm, _WIDEST_STEP_RADII * clearance.radius_mm)
    levels = ring_levels(clearance.centres, step_mm)
    longest_mm = _LONGEST_LINK_DIAMETERS * 2 * clearance.radius_mm
    room = Room(clearance.centres)
    runs_of = [linked_rings(rings, room, longest_mm) for rings in pockets(levels)]
    starts_mm = np.array([runs[0][0].points_mm[0] for runs in runs_of])
    order, _ = shortest_order(starts_mm, starts_mm)
    paths = []
    for pocket in order.tolist():
        paths += list(_pocket_paths(runs_of[pocket], depth_mm, pass_depth_mm, pace))
    return paths


def _pocket_paths(
    runs: list[list[Circuit]], depth_mm: float, pass_depth_mm: float, pace: Pace
) -> Iterator[CutPath]:
    upper_mm = 0.0
    for pass_mm in pass_depths_mm(depth_mm, pass_depth_mm):
        for run in runs:
            yield cut_path(simplified(rings_down(run, upper_mm, -pass_mm), PATH_TOLERANCE_MM), pace)
        upper_mm = -pass_mm


def rings_down(run: list[Circuit], upper_mm: float, lower_mm: float) -> Floats:
    """Return one run of rings: down along the first, round it, and on to the others, (n, 3)."""
    flat = [at_height(ring.points_mm, lower_mm) for ring in run[1:]]
    return np.vstack([ramped_round(run[0], upper_mm, lower_mm), *flat])
