"""Floors with the V-bit: all of them without an end mill, and what an end mill cannot reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.polygon_repair import region_of
from workers.toolpaths.floor_levels import Level, levels_over, linked_lines, middles_between
from workers.toolpaths.groove import Groove
from workers.toolpaths.rings import Room, linked_rings, nested
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
_NEXT_STEPS = 1.5  # a ring farther than this from every ring outside it is no neighbour of theirs
_LONGEST_ON_FLOOR_MM = 5.0  # a longer link between runs may cross cut floor, and stays off it
_ONWARD_MM = 0.8  # of a link, past the run's end: from one line to its neighbour that bends by 10 degrees


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FloorFinish:
    """Where the V-bit's tip goes on a floor."""

    walls: Region  # where its centre may stand at full depth
    area: Region  # what of that it must come near
    room: Room  # the same as walls, for links
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
        walls=walls,
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


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Covering:
    """Lines that, with the pass along the walls, leave no point of a floor far from all of them."""

    levels: list[Level]  # outermost first
    middles: Strands


def finishing_cover(finish: FloorFinish, middles: Strands, groove: Groove) -> Covering:
    """Return the lines that cover the area.

    Args:
        finish: What to cover.
        middles: The ink's middle lines where it is wider than the limit cuts, as ``floor_middles``.
        groove: The bit and the limit.
    """
    if finish.area.polygons.is_empty:
        return Covering(levels=[], middles=strands_of([]))
    levels = levels_over(finish.walls, finish.area, finish.step_mm)
    from_walls_mm = -groove.slope * (middles.points_mm[:, 2] + groove.depth_mm)
    middles = Strands(np.column_stack([middles.points_mm[:, :2], from_walls_mm]), middles.offsets)
    return Covering(
        levels=levels,
        middles=middles_between(middles, levels, finish.area, finish.step_mm, finish.reach_mm),
    )


def finishing_runs(
    finish: FloorFinish,
    cover: Covering,
    pass_mm: float,
    groove: Groove,
    longest_mm: float,
) -> list[Floats]:
    """Return the runs over a cover in one depth pass, (n, 3) each.

    All but the last pass take only so many of the levels as leave ridges that the next pass
    can take.

    Args:
        finish: What to cover.
        cover: Of it.
        pass_mm: Depth of the pass.
        groove: The bit and the limit.
        longest_mm: The bit stays down between lines no farther apart than this.
    """
    levels = cover.levels
    if pass_mm < groove.depth_mm:
        rough_mm = step_between_mm(groove, _ROUGH_RIDGE_FRACTION * pass_mm)
        stride = max(1, int(rough_mm / finish.step_mm))
        levels = levels[stride - 1 :: stride]
    rings = nested([[[ring] for ring in level.rings] for level in levels], _NEXT_STEPS * finish.step_mm)
    lines_mm = [
        *(line_mm for level in levels for line_mm in level.lines_mm),
        *(
            np.vstack([ring.points_mm for ring in run])
            for group in rings
            for run in linked_rings(group, finish.room, longest_mm, at_corners=True)
        ),
        *(line_mm[:, :2] for line_mm in cover.middles.lines()),
    ]
    longest_mm = min(longest_mm, _LONGEST_ON_FLOOR_MM)
    return [at_height(run, -pass_mm) for run in linked_lines(lines_mm, finish.room, longest_mm)]


def attached(net: Strands, runs: list[Floats], room: Room, longest_mm: float) -> Strands:
    """Return the net with the runs hung into it, so that the bit need not lift off between them.

    Each end of a run is linked to a near place of the net at the same height, if that is
    no farther than ``longest_mm`` and the link stays in the room. A link leads on in the direction
    of its run where it can, so that the bit need not turn square.
    """
    if not runs:
        return net
    height_mm = runs[0][0, 2]
    flat = between(net, height_mm, height_mm)
    links = _links(flat, runs, room, longest_mm) if len(flat) else []
    feet_mm = np.array([link[1] for link in links]).reshape(-1, 3)
    return joined([parted_at(net, feet_mm, _TOUCHING_MM), strands_of(runs), strands_of(links)])


def _links(flat: Strands, runs: Sequence[Floats], room: Room, longest_mm: float) -> list[Floats]:
    """Return straight links (2, 3) from the ends of runs to places on level lines."""
    ends_mm = np.array([run[row] for run in runs for row in (0, -1)])
    out_mm = np.array([run[row] - run[inner] for run in runs for row, inner in ((0, 1), (-1, -2))])
    out = out_mm / np.maximum(np.linalg.norm(out_mm, axis=1), 1e-12)[:, None]
    found: dict[int, Floats] = {}
    for onward_mm in (_ONWARD_MM, 0.0):
        numbers, feet_mm = _feet(flat, ends_mm + onward_mm * out, longest_mm)
        links_mm = np.stack([ends_mm[numbers], feet_mm], axis=1)
        held = room.holds(links_mm[:, :, :2])
        for number, link_mm in zip(numbers[held].tolist(), links_mm[held], strict=True):
            found.setdefault(number, link_mm)
    return [found[number] for number in sorted(found)]


def _feet(flat: Strands, places_mm: Floats, longest_mm: float) -> tuple[NDArray[np.int64], Floats]:
    """Return which places have a level line within reach, and where on it they come nearest."""
    numbers, rows, along_mm = nearest_pieces(flat, places_mm, longest_mm)
    starts_mm, steps_mm = flat.points_mm[rows], flat.points_mm[rows + 1] - flat.points_mm[rows]
    lengths_mm = np.maximum(np.linalg.norm(steps_mm, axis=1), 1e-12)
    return numbers, np.asarray(starts_mm + steps_mm * (along_mm / lengths_mm)[:, None])
