"""The single steps of a repair: thin strokes thickened, weak walls opened or fused. Each judges first."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import box

from workers.geometry.offsets import quarter_pieces
from workers.geometry.polygon_repair import on_grid, region_of
from workers.resolvability.centre_lines import measured
from workers.resolvability.examine import judged
from workers.resolvability.growth import CHORD_MM, growth_of
from workers.resolvability.limits import Limits
from workers.resolvability.moves import FILM_MM
from workers.resolvability.room import Room
from workers.resolvability.thin_parts import line_of, part_along
from workers.resolvability.topology import grown
from workers.values.examination import Verdict
from workers.values.region import Region

_OVER_MM = 0.01  # a hair more than half a wall that stands, so that rounding leaves none narrower
_SHEET_MARGIN_MM = 5.0  # of paper round the ink


def thickened(region: Region, limits: Limits, room: Room, longest_mm: float = math.inf) -> Region:
    """Return an area with the strokes that do not show made wide enough, on the grid of files.

    So what is examined here is to the last digit what the next step reads and need not measure again.

    Args:
        region: The ink.
        limits: The widths from which strokes show.
        room: How wide strokes shall become, and what they may take for it.
        longest_mm: Longer stretches of thin stroke are left as they are.
    """
    found = measured(region)
    faint = [
        run
        for run in judged(found, limits).strokes
        if run.verdict is not Verdict.SHOWS and run.length_mm <= longest_mm
    ]
    thin = part_along(found.ink, faint, (limits.shows_from_mm + room.width_mm) / 2)
    if not len(thin.edges) + len(thin.lone_nodes):
        return region
    growth = growth_of(region.polygons, thin, found.paper, room)
    larger = grown(region, growth, room.gap_mm)
    return region if larger is region else on_grid(larger.polygons)


def opened(region: Region, limits: Limits, room: Room) -> Region:
    """Return an area with walls too thin to stand made wider, out of strokes that still show without it.

    The same as thickening, seen from the paper: what strokes leave free is what walls may take.
    """
    found = measured(region)
    weak = [run for run in judged(found, limits).walls if run.verdict is not Verdict.STANDS]
    thin = part_along(found.paper, weak, (limits.stands_from_mm + room.width_mm) / 2)
    if not len(thin.edges) + len(thin.lone_nodes):
        return region
    sheet = box(*region.polygons.bounds).buffer(_SHEET_MARGIN_MM, join_style="mitre")
    paper = region_of(shapely.difference(sheet, region.polygons))
    growth = growth_of(paper.polygons, thin, found.ink, room)
    larger = grown(paper, growth, room.gap_mm)
    return region if larger is paper else on_grid(shapely.difference(region.polygons, larger.polygons))


def fused(region: Region, limits: Limits, at_most_mm: float) -> Region:
    """Return an area with walls too thin to stand filled; the ends of what is filled are round.

    Parts may join and holes may go: that is what was asked for.

    Args:
        region: The ink.
        limits: The width from which walls stand.
        at_most_mm: A wall more than twice as wide is left.
    """
    weak = [
        run
        for run in judged(measured(region), limits).walls
        if run.verdict is not Verdict.STANDS and run.width_mm / 2 <= at_most_mm
    ]
    if not weak:
        return region
    radius_mm = limits.stands_from_mm / 2 + _OVER_MM
    pieces = quarter_pieces(radius_mm, CHORD_MM)
    closed = region.polygons.buffer(radius_mm, quad_segs=pieces).buffer(-radius_mm, quad_segs=pieces)
    narrow = shapely.get_parts(shapely.difference(closed, region.polygons))
    filled = np.unique(shapely.STRtree(narrow).query([line_of(run) for run in weak], "intersects")[1])
    filling = shapely.union_all(narrow[filled]).buffer(FILM_MM, join_style="mitre")
    return on_grid(region_of(shapely.union(region.polygons, filling)).polygons)
