"""Floors with the V-bit: all of them without an end mill, and what an end mill cannot reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.polygon_repair import region_of
from workers.toolpaths.circuit import Circuit
from workers.toolpaths.groove import Groove
from workers.toolpaths.rings import Covering, Room, covering, linked_rings, nested
from workers.toolpaths.strands import (
    Strands,
    at_height,
    between,
    joined,
    nearest_pieces,
    parted_at,
    strands_of,
)
from workers.values.region import Region

Floats = NDArray[np.float64]

_RIDGE_MM = 0.025  # left standing between passes: too little to feel
_HIGHEST_RIDGE_MM = 0.03  # where a pass ends: a pointed bit's square corners come to 0.0293
_ROUGH_RIDGE_FRACTION = 0.5  # of a depth pass: what earlier passes leave for the next to take
_TOUCHING_MM = 1e-3


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FloorFinish:
    """Where the V-bit's tip goes on a floor."""

    area: Region  # where its centre may stand and must come near
    room: Room  # where its centre may stand at full depth
    step_mm: float
    reach_mm: float  # how far from the tip's centre the ridge is still low enough


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
    rest = walls
    if milled is not None and not milled.polygons.is_empty:
        rest = region_of(walls.polygons.difference(milled.polygons))
    return FloorFinish(
        area=rest,
        room=Room(walls),
        step_mm=step_between_mm(groove, _RIDGE_MM),
        reach_mm=step_between_mm(groove, _HIGHEST_RIDGE_MM) / 2,
    )


def rest_margin_mm(groove: Groove) -> float:
    """Return how far inside the milled floor the V-bit's rest area begins: half a step.

    A ring of the V-bit covers half a step to each side; the mill's edge covers nothing beyond it.
    """
    return step_between_mm(groove, _RIDGE_MM) / 2


def finishing_cover(finish: FloorFinish, middles: Strands) -> Covering:
    """Return the rings and lines that cover the area.

    Args:
        finish: What to cover.
        middles: The ink's middle lines where it is wider than the limit cuts.
    """
    if finish.area.polygons.is_empty:
        return Covering(levels=[], lines_mm=[])
    lines_mm = [line[:, :2] for line in middles.lines()]
    return covering(finish.area, finish.step_mm, finish.reach_mm, lines_mm, finish.room)


def finishing_runs(
    finish: FloorFinish,
    levels: Sequence[Sequence[Sequence[Circuit]]],
    pass_mm: float,
    groove: Groove,
    longest_mm: float,
) -> list[Floats]:
    """Return the runs round the rings of a cover in one depth pass, (n, 3) each.

    All but the last pass take only so many of the rings as leave ridges that the next pass
    can take.

    Args:
        finish: What to cover.
        levels: The cover's rings.
        pass_mm: Depth of the pass.
        groove: The bit and the limit.
        longest_mm: The bit stays down between rings no farther apart than this.
    """
    if pass_mm < groove.depth_mm:
        rough_mm = step_between_mm(groove, _ROUGH_RIDGE_FRACTION * pass_mm)
        stride = max(1, int(rough_mm / finish.step_mm))
        levels = levels[stride - 1 :: stride]
    return [
        at_height(np.vstack([ring.points_mm for ring in run]), -pass_mm)
        for rings in nested(levels)
        for run in linked_rings(rings, finish.room, longest_mm, at_corners=True)
    ]


def attached(net: Strands, runs: list[Floats], room: Room, longest_mm: float) -> Strands:
    """Return the net with the runs hung into it, so that the bit need not lift off between them.

    Each end of a run is linked to the nearest place of the net at the same height, if that is
    no farther than ``longest_mm`` and the link stays in the room.
    """
    if not runs:
        return net
    height_mm = runs[0][0, 2]
    flat = between(net, height_mm, height_mm)
    ends_mm = np.array([line[row] for line in runs for row in (0, -1)])
    links = _links(flat, ends_mm, room, longest_mm) if len(flat) else []
    feet_mm = np.array([link[1] for link in links]).reshape(-1, 3)
    return joined([parted_at(net, feet_mm, _TOUCHING_MM), strands_of(runs), strands_of(links)])


def _links(flat: Strands, ends_mm: Floats, room: Room, longest_mm: float) -> list[Floats]:
    """Return straight links (2, 3) from ends to the nearest places on level lines."""
    numbers, rows, along_mm = nearest_pieces(flat, ends_mm, longest_mm)
    starts_mm, steps_mm = flat.points_mm[rows], flat.points_mm[rows + 1] - flat.points_mm[rows]
    lengths_mm = np.maximum(np.linalg.norm(steps_mm, axis=1), 1e-12)
    feet_mm = starts_mm + steps_mm * (along_mm / lengths_mm)[:, None]
    links_mm = np.stack([ends_mm[numbers], feet_mm], axis=1)
    return list(links_mm[room.holds(links_mm[:, :, :2])])
