"""Floors with the V-bit: all of them without an end mill, and what an end mill cannot reach."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.polygon_repair import region_of
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.groove import Groove
from workers.toolpaths.linking import linked_lines, linked_paths
from workers.toolpaths.pace import Pace
from workers.toolpaths.rings import covering, linked_rings, pockets
from workers.toolpaths.strands import Strands, at_height, strands_of
from workers.values.cutting_plan import CutPath
from workers.values.region import Region

Floats = NDArray[np.float64]

_RIDGE_MM = 0.04  # left standing on a floor that only a V-bit cuts; a fifth more in sharp corners
_REST_RIDGE_MM = 0.025  # beside a milled floor, where the eye compares
_ROUGH_RIDGE_FRACTION = 0.5  # of a depth pass: what earlier passes leave for the next to take


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FloorFinish:
    """Where the V-bit's tip goes on a floor."""

    area: Region  # where its centre may stand and must come near
    room: Region  # where its centre may stand at full depth
    step_mm: float


def step_between_mm(groove: Groove, ridge_mm: float) -> float:
    """Return how far apart V-bit passes may be for ridges of a height between them.

    Source: a cone of slope k leaves ridges (step - tip) / 2k high; trade.md V-07.

    >>> from workers.toolpaths.groove import Groove
    >>> round(step_between_mm(Groove(slope=0.5773502692, tip_radius_mm=0.0, depth_mm=1.0), 0.173205), 4)
    0.2
    """
    return 2 * (groove.tip_radius_mm + groove.slope * ridge_mm)


def floor_finish(walls: Region, milled: Region | None, groove: Groove) -> FloorFinish:
    """Return what of the floors is left for the V-bit.

    Args:
        walls: Where the tip's centre may stand at full depth: the ink inset by the groove's
            full radius. The pass along its edge is cut as a wall.
        milled: The floor an end mill has cut, less half of ``rest_margin_mm`` all round; or None.
        groove: The bit and the limit.
    """
    if milled is None or milled.polygons.is_empty:
        return FloorFinish(area=walls, room=walls, step_mm=step_between_mm(groove, _RIDGE_MM))
    rest = region_of(walls.polygons.difference(milled.polygons))
    step_mm = step_between_mm(groove, _REST_RIDGE_MM)
    return FloorFinish(area=rest, room=walls, step_mm=step_mm)


def rest_margin_mm(groove: Groove) -> float:
    """Return how far inside the milled floor the V-bit's rest area begins: half a step.

    A ring of the V-bit covers half a step to each side; the mill's edge covers nothing beyond it.
    """
    return step_between_mm(groove, _REST_RIDGE_MM) / 2


def finishing_paths(
    finish: FloorFinish, middles: Strands, groove: Groove, pass_depth_mm: float, pace: Pace
) -> list[CutPath]:
    """Return the paths that take the area down to the limit.

    All but the last depth pass run only so many of the rings as leave ridges that the next
    pass can take.

    Args:
        finish: What to cover.
        middles: The ink's middle lines where it is wider than the limit cuts.
        groove: The bit and the limit.
        pass_depth_mm: Deepest single pass.
        pace: The feeds allowed, and what a lift is worth.
    """
    if finish.area.polygons.is_empty:
        return []
    cover = covering(finish.area, finish.step_mm, [line[:, :2] for line in middles.lines()])
    depths_mm = pass_depths_mm(groove.depth_mm, pass_depth_mm)
    rough_mm = step_between_mm(groove, _ROUGH_RIDGE_FRACTION * depths_mm[0])
    stride = max(1, int(rough_mm / finish.step_mm))
    paths: list[CutPath] = []
    for pass_mm in depths_mm[:-1]:
        paths += _ring_paths(cover.levels[stride - 1 :: stride], -pass_mm, finish.room, pace)
    paths += _ring_paths(cover.levels, -groove.depth_mm, finish.room, pace)
    lines = strands_of([at_height(line_mm, -groove.depth_mm) for line_mm in cover.lines_mm])
    return paths + linked_paths(lines, pace)


def _ring_paths(levels: list[Region], height_mm: float, room: Region, pace: Pace) -> list[CutPath]:
    lines = [
        at_height(np.vstack([ring.points_mm for ring in run]), height_mm)
        for rings in pockets(levels)
        for run in linked_rings(rings, room, pace.lift_worth_mm)
    ]
    return linked_lines(lines, pace)
