"""Where beside a cutout's line the waste is, and the lead that has room there."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from workers.toolpaths.cutout import Cutout
from workers.toolpaths.leads import Lead, placed_lead
from workers.toolpaths.over_the_edges import widest_below_mm
from workers.values.cuts import CutoutCut, CutoutSide
from workers.values.keep_out import BESIDE_CLAMP_MM, KeepOut
from workers.values.machine import Machine

_TOUCHING_MM = 0.01  # chords and rounding


def lead_beside(
    cutout: Cutout, outline: Polygon, cut: CutoutCut, machine: Machine, keep_outs: Sequence[KeepOut] = ()
) -> Lead | None:
    """Return how the bit is led on to its way round a board and off it; None where no waste has room for it.

    There is no waste beside a cut inside the line: the board is on one side of it, and on the other
    what keeps its size.

    Args:
        cutout: The way round and its tabs.
        outline: The board's.
        cut: The bit and its side of the line.
        machine: Its nut and spindle follow the bit.
        keep_outs: Where clamps stand; the bit and what follows it keep clear of them.
    """
    if cut.side is CutoutSide.INSIDE:
        return None
    kept = [outline.buffer(cut.wall_offset_mm - _TOUCHING_MM)]
    for zone in keep_outs:
        widest_mm = widest_below_mm(cut.cutter, machine, zone.height_mm + cutout.depth_mm)
        clear_mm = max(cut.cutter.diameter_mm / 2 + BESIDE_CLAMP_MM, widest_mm)
        kept.append(box(zone.left_mm, zone.bottom_mm, zone.right_mm, zone.top_mm).buffer(clear_mm))
    blank = outline.buffer(cut.reach_mm - cut.cutter.diameter_mm / 2 + _TOUCHING_MM)
    return _placed(cutout, cut, blank.difference(shapely.union_all(kept)))


def lead_within(cutout: Cutout, outline: Polygon, cut: CutoutCut) -> Lead | None:
    """Return how the bit is led on to its way round a piece in an opening, through the piece."""
    return _placed(cutout, cut, outline.buffer(cut.wall_offset_mm + _TOUCHING_MM))


def _placed(cutout: Cutout, cut: CutoutCut, waste: BaseGeometry) -> Lead | None:
    """Return the lead; a bit that climbs has the waste on its left (trade.md P-08)."""
    return placed_lead(cutout.rough.circuit, cutout.gaps_mm(), cut.lead_radius_mm, waste, cut.climb)
