"""Lines along the walls of a floor, one step from the next, as far as a mill has left something there.

Where a mill has been the lines simply end: its edge is no wall, and a ring along it would turn round
twice as often. A point out of reach of two neighbouring lines lies where the inner one has turned a
corner or come to an end, nearer than a step to the floor's middle line: pieces of that take the rest.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiLineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from workers.geometry.offsets import inset
from workers.geometry.ordering import shortest_order
from workers.toolpaths.circuit import Circuit
from workers.toolpaths.rings import Room
from workers.toolpaths.strands import (
    Strands,
    at_height,
    nearest_pieces,
    refined,
    strands_of,
    unbroken,
)
from workers.values.region import Region

Floats = NDArray[np.float64]

_SHORTEST_MM = 0.005  # what is shorter is rounding
_NOTHING_MM = 0.001
_PIECES_PER_STEP = 4  # of middle lines, each looked at by itself


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Level:
    """What is run at one distance from the walls."""

    rings: list[Circuit]
    lines_mm: list[Floats]  # (n, 2) each, open

    def all_mm(self) -> list[Floats]:
        """Return rings and lines as points."""
        return [*(ring.points_mm for ring in self.rings), *self.lines_mm]


def levels_over(walls: Region, area: Region, step_mm: float) -> list[Level]:
    """Return lines along the walls, the first one step inside them, as far as they lie in an area.

    Args:
        walls: The floors.
        area: What of them is to be covered.
        step_mm: From level to level.
    """
    shapely.prepare(area.polygons)
    floors = _touched(walls, area)
    found: list[Level] = []
    while not floors.polygons.is_empty:
        level = _touched(inset(floors, (len(found) + 1) * step_mm), area)
        if level.polygons.is_empty:
            break
        found.append(_level(level, area))
    return found


def _touched(region: Region, area: Region) -> Region:
    """Return the parts of a region that an area reaches into."""
    parts = np.array(region.polygons.geoms)
    return Region(MultiPolygon(parts[shapely.intersects(area.polygons, parts)].tolist()))


def _level(level: Region, area: Region) -> Level:
    outlines = [ring for part in level.polygons.geoms for ring in (part.exterior, *part.interiors)]
    whole = shapely.covers(area.polygons, outlines).tolist()
    lines = [
        line
        for outline, is_whole in zip(outlines, whole, strict=True)
        for line in ([outline] if is_whole else _pieces(outline, area))
    ]
    return Level(
        rings=[Circuit(shapely.get_coordinates(line)) for line in lines if line.is_closed],
        lines_mm=[
            shapely.get_coordinates(line)
            for line in lines
            if not line.is_closed and line.length > _SHORTEST_MM
        ],
    )


def _pieces(outline: shapely.LinearRing, area: Region) -> list[LineString]:
    """Return what of a ring lies in an area, in its direction."""
    inside = _lines(shapely.intersection(outline, area.polygons))
    return _lines(shapely.line_merge(MultiLineString(inside), directed=True)) if inside else []


def _lines(shape: BaseGeometry) -> list[LineString]:
    parts = shapely.get_parts(shape).tolist()
    return [part for part in parts if isinstance(part, LineString) and part.length > 0]


def middles_between(
    middles: Strands, levels: Sequence[Level], area: Region, step_mm: float, reach_mm: float
) -> Strands:
    """Return the pieces of middle lines that must be run because no level comes near enough.

    Args:
        middles: Middle lines of the floors; x, y and, for z, the distance to the nearest wall.
        levels: What is run at even distances from the walls.
        area: What is to be covered.
        step_mm: From level to level; the walls are level 0.
        reach_mm: How far from what is run a point may be; more than half a step.
    """
    if not len(middles):
        return middles
    fine = refined(middles, step_mm / _PIECES_PER_STEP)
    from_walls_mm = fine.points_mm[:, 2] - _NOTHING_MM  # a level that has shrunk to a line is none
    far = np.mod(from_walls_mm, step_mm) > reach_mm - _NOTHING_MM  # from the level outside, or the wall
    far[far] = shapely.intersects_xy(area.polygons, fine.points_mm[far, :2])
    rows = np.flatnonzero(far)
    run = strands_of([at_height(line_mm, 0.0) for level in levels for line_mm in level.all_mm()])
    if len(run):
        far[rows[nearest_pieces(run, fine.points_mm[rows], reach_mm)[0]]] = False
    return unbroken(fine, far[1:] | far[:-1])


def linked_lines(lines_mm: Sequence[Floats], room: Room, longest_mm: float) -> list[Floats]:
    """Return lines in runs: to and fro, the straight links between them being short and in the room.

    Args:
        lines_mm: (n, 2) each; a line may be run from either end.
        room: What links stay in.
        longest_mm: Of links.
    """
    if len(lines_mm) < 2:
        return list(lines_mm)
    ends_mm = np.array([[line_mm[0], line_mm[-1]] for line_mm in lines_mm])
    x_mm, y_mm = ends_mm[0, 0].tolist()
    order, turned = shortest_order(ends_mm[:, 0], ends_mm[:, 1], (x_mm, y_mm))
    ordered = [
        lines_mm[number][::-1] if is_turned else lines_mm[number]
        for number, is_turned in zip(order.tolist(), turned.tolist(), strict=True)
    ]
    links_mm = np.array([[one[-1], other[0]] for one, other in itertools.pairwise(ordered)])
    linked = room.holds(links_mm) & (np.linalg.norm(links_mm[:, 1] - links_mm[:, 0], axis=1) <= longest_mm)
    starts = np.flatnonzero(np.concatenate([[True], ~linked])).tolist()
    return [np.vstack(ordered[first:last]) for first, last in itertools.pairwise([*starts, len(ordered)])]
