"""What bits leave over points: of every motion over a point the deepest, found by thirds along it."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from tests.support.second_opinion.moves import Moves
from workers.values.cutter import Cutter, VeeCutter

Floats = NDArray[np.float64]

_THIRDS = 45


def profile_of(cutter: Cutter) -> tuple[float, float, float]:
    """Return a bit's radius, the radius of its flat, and how far it opens for each mm of height."""
    if isinstance(cutter, VeeCutter):
        slope = math.tan(math.radians(cutter.included_angle_deg) / 2)
        return cutter.diameter_mm / 2, cutter.tip_mm / 2, slope
    return cutter.diameter_mm / 2, cutter.diameter_mm / 2, math.inf


def carved_mm(moves: Moves, points: Floats, before: NDArray[np.intp] | None = None) -> Floats:
    """Return how deep the board is cut at points; with ``before`` by the motions ahead of a place only."""
    depth_mm = np.zeros(len(points))
    lowest_mm = moves.lowest_mm
    for number, cutter in enumerate(moves.cutters):
        own = np.flatnonzero((moves.bits == number) & (lowest_mm < 0))
        if not len(own):
            continue
        radius, flat, slope = profile_of(cutter)
        reach = min(radius, flat - float(lowest_mm[own].min()) * (slope if math.isfinite(slope) else 0.0))
        ways = np.asarray(
            shapely.linestrings(np.stack([moves.starts_mm[own, :2], moves.ends_mm[own, :2]], axis=1))
        )
        level = np.linalg.norm(moves.starts_mm[own, :2] - moves.ends_mm[own, :2], axis=1) < 1e-9
        ways[level] = shapely.points(moves.ends_mm[own[level], :2])
        tree = shapely.STRtree(ways)
        for part in np.array_split(np.arange(len(points)), max(1, len(points) // 200)):
            which, way = tree.query(shapely.points(points[part]), predicate="dwithin", distance=reach)
            rows = part[which]
            if before is not None:
                kept = own[way] < before[rows]
                rows, way = rows[kept], way[kept]
            if len(rows):
                deep = _deepest_mm(
                    points[rows], moves.starts_mm[own[way]], moves.ends_mm[own[way]], radius, flat, slope
                )
                np.maximum.at(depth_mm, rows, deep)
    return depth_mm


def _deepest_mm(
    points: Floats, starts: Floats, ends: Floats, radius: float, flat: float, slope: float
) -> Floats:
    """Return the most that each motion takes off over its point: a concave function of the way along."""
    steps = ends - starts
    squared = (steps[:, :2] ** 2).sum(axis=1)
    off = points - starts[:, :2]
    still = squared < 1e-18
    middle = np.where(still, 0.0, (off * steps[:, :2]).sum(axis=1) / np.where(still, 1.0, squared))
    nearest = np.linalg.norm(off - middle[:, None] * steps[:, :2], axis=1)
    half = np.sqrt(np.maximum(radius**2 - nearest**2, 0.0) / np.where(still, 1.0, squared))
    first = np.where(still, 0.0, np.clip(middle - half, 0, 1))
    last = np.where(still, 1.0, np.clip(middle + half, 0, 1))
    touches = (nearest <= radius) & (still | ((middle + half >= 0) & (middle - half <= 1)))

    def depth(shares: Floats) -> Floats:
        places = starts + shares[:, None] * steps
        away = np.linalg.norm(points - places[:, :2], axis=1)
        rise = 0.0 if math.isinf(slope) else np.maximum(away - flat, 0.0) / slope
        return np.asarray(-places[:, 2] - rise)

    for _ in range(_THIRDS):
        third, two = first + (last - first) / 3, last - (last - first) / 3
        left = depth(third) > depth(two)
        first, last = np.where(left, first, third), np.where(left, two, last)
    best = np.maximum(depth(first), depth(last))
    return np.where(touches, np.maximum(best, 0.0), 0.0)
