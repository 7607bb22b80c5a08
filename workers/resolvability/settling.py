"""The steps of a repair taken until none of them is worth taking any more.

What a step starts from decides alone whether it is taken. So an area at which no step was worth
taking is left alone when it is repaired again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import shapely

from workers.geometry.polygon_repair import on_grid
from workers.resolvability.centre_lines import measured
from workers.resolvability.examine import judged
from workers.resolvability.limits import Limits
from workers.resolvability.room import Room
from workers.resolvability.steps import fused, opened, thickened
from workers.resolvability.wishes import RepairWishes, Walls
from workers.values.examination import Judged, Verdict
from workers.values.progress import Reporter
from workers.values.region import Region

_OVER_MM = 0.02  # made wider than needed, so that a second look does not doubt it
_GAP_FRACTIONS = (1.0, 0.5, 0.25)  # of the thinnest wall that stands: what strokes leave of gaps, in turn
_LONGEST_LEFTOVER = 2.0  # of the width that shows: where gaps may end sooner for a stroke's sake
_WORTH_FRACTION = 0.15  # of what is lacking: a step that gives less is not taken, so that repairs end
_STROKES_FIRST = 4.0  # a stroke's lack weighs as much as that of so many walls
_MOST_TURNS = 12


@dataclass(frozen=True, slots=True)
class _Lack:
    """How much wider strokes or walls would have to be, times their length."""

    strokes_mm2: float
    walls_mm2: float


@dataclass(frozen=True, slots=True)
class _Step:
    """One thing a repair can do, and whether it is for the walls' sake."""

    take: partial[Region]
    for_walls: bool = False


def settled(start: Region, limits: Limits, wishes: RepairWishes, report: Reporter) -> Region:
    """Return the area repaired; the very same where nothing is worth repairing.

    Args:
        start: The ink.
        limits: The widths wanted of strokes and walls.
        wishes: What becomes of walls, and how far outlines may move.
        report: Told how far it is.
    """
    region, steps = start, _steps(limits, wishes)
    for turn in range(_MOST_TURNS):
        begun = region
        for number, step in enumerate(steps):
            report(0.1 + 0.7 * min(1.0, (turn + number / len(steps)) / 2), "thickening thin strokes")
            stepped = _within(step.take(region), start, wishes.at_most_mm)
            if stepped is not region and _is_worth(step, region, stepped, limits, wishes):
                region = stepped
        if region is begun:
            break
    return region


def _steps(limits: Limits, wishes: RepairWishes) -> list[_Step]:
    """Return the steps in their order: strokes before walls, and gaps keep as much as they can."""
    shows = Room(
        width_mm=limits.shows_from_mm + _OVER_MM,
        gap_mm=limits.stands_from_mm,
        slit_mm=_GAP_FRACTIONS[-1] * limits.stands_from_mm,
        at_most_mm=wishes.at_most_mm,
    )
    rooms = [replace(shows, gap_mm=fraction * limits.stands_from_mm) for fraction in _GAP_FRACTIONS]
    steps = [_Step(partial(thickened, limits=limits, room=room)) for room in rooms]
    last = replace(rooms[-1], slit_mm=limits.stands_from_mm)
    longest_mm = _LONGEST_LEFTOVER * shows.width_mm
    steps.append(_Step(partial(thickened, limits=limits, room=last, longest_mm=longest_mm)))
    if wishes.walls is not Walls.KEEP:
        steps.append(_Step(partial(_walls_treated, limits=limits, room=shows, wishes=wishes), for_walls=True))
    return steps


def _walls_treated(region: Region, limits: Limits, room: Room, wishes: RepairWishes) -> Region:
    """Return an area with its weak walls opened or fused, and strokes that this made thin thick again."""
    if wishes.walls is Walls.FUSE:
        treated = fused(region, limits, wishes.at_most_mm)
    else:
        wall = replace(room, width_mm=limits.stands_from_mm + _OVER_MM, gap_mm=room.width_mm, slit_mm=0.0)
        treated = opened(region, limits, wall)
    return region if treated is region else thickened(treated, limits, room)


def _within(region: Region, start: Region, at_most_mm: float) -> Region:
    """Return an area without what lies farther from the outline it had at the start than allowed."""
    if math.isinf(at_most_mm) or region is start:
        return region
    outer, inner = (start.polygons.buffer(side * at_most_mm, quad_segs=16) for side in (1, -1))
    bounded = shapely.union(shapely.intersection(region.polygons, outer), inner)
    return region if shapely.symmetric_difference(bounded, region.polygons).is_empty else on_grid(bounded)


def _is_worth(step: _Step, before: Region, after: Region, limits: Limits, wishes: RepairWishes) -> bool:
    """Tell whether a step takes enough of what it is for, and does not take more elsewhere."""
    old, new = _lack(before, limits), _lack(after, limits)
    walls_weight = 0.0 if wishes.walls is Walls.KEEP else 1.0
    old_mm2, new_mm2 = (
        _STROKES_FIRST * lack.strokes_mm2 + walls_weight * lack.walls_mm2 for lack in (old, new)
    )
    own = [lack.walls_mm2 if step.for_walls else lack.strokes_mm2 for lack in (old, new)]
    return new_mm2 < old_mm2 and own[1] <= (1 - _WORTH_FRACTION) * own[0]


def _lack(region: Region, limits: Limits) -> _Lack:
    examination = judged(measured(region), limits)
    return _Lack(
        strokes_mm2=_lack_mm2(examination.strokes, Verdict.SHOWS, limits.shows_from_mm),
        walls_mm2=_lack_mm2(examination.walls, Verdict.STANDS, limits.stands_from_mm),
    )


def _lack_mm2(runs: Sequence[Judged], good: Verdict, from_mm: float) -> float:
    return sum(run.length_mm * (from_mm - run.narrowest_mm) for run in runs if run.verdict is not good)
