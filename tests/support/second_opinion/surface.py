"""The carved surface at random points against the design, measured with shapely."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from tests.support.second_opinion.carved import carved_mm
from tests.support.second_opinion.moves import Moves
from tests.support.second_opinion.ordered import WALL_MM, Floats, Ordered
from workers.values.ground import ground_beyond
from workers.values.opening_outline import opening_outline

_POINTS = 1200  # of each kind


def _designed_mm(ordered: Ordered, points: Floats) -> Floats:
    """Return how deep the design is at points on the board, holes and openings left aside."""
    design, incise = ordered.design, ordered.incise
    past = design.past_edge_mm
    ink = ground_beyond(design, past + 60).polygons if past else design.ink.polygons
    if ink.is_empty:
        return np.zeros(len(points))
    slope = math.tan(math.radians(incise.cutter.included_angle_deg) / 2)
    half_tip = incise.cutter.tip_mm / 2
    edge = shapely.boundary(ink)
    shapely.prepare(ink)
    shapely.prepare(edge)
    depth = np.zeros(len(points))
    offsets = [(0.0, 0.0)]
    if half_tip:
        offsets += [
            (share * half_tip * math.cos(turn), share * half_tip * math.sin(turn))
            for share in (0.35, 0.7, 1.0)
            for turn in np.linspace(0, math.tau, 40, endpoint=False)
        ]
    for offset in offsets:
        middles = shapely.points(points + np.array(offset))
        room = np.where(shapely.covers(ink, middles), shapely.distance(edge, middles), 0.0)
        deep = np.minimum(incise.depth_limit_mm, (room - half_tip) / slope)
        depth = np.maximum(depth, np.where(room >= half_tip, deep, 0.0))
    return depth


def surface_objections(moves: Moves, ordered: Ordered, chance: np.random.Generator) -> list[str]:
    design, cutout = ordered.design, ordered.cutout
    eaten = max(cutout.eaten_mm, 0.0) if cutout else 0.0
    left = design.outline.buffer(-eaten - WALL_MM)
    through = [
        *(Point(hole.x_mm, hole.y_mm).buffer(hole.diameter_mm / 2 + WALL_MM) for hole in design.holes),
        *(opening_outline(opening).buffer(WALL_MM) for opening in design.openings),
    ]
    area = left.difference(shapely.union_all(through))
    points = np.concatenate(
        [
            _scattered(design.outline, chance),
            _beside(shapely.boundary(design.ink.polygons), chance, 0.4),
            *(_beside(shape.exterior, chance, 0.3, _POINTS // 6) for shape in through),
            _beside(left.exterior, chance, 0.4)
            if not left.is_empty and left.geom_type == "Polygon"
            else np.empty((0, 2)),
        ]
    )
    shapely.prepare(area)
    points = points[shapely.covers(area, shapely.points(points))]
    carved, designed = carved_mm(moves, points), _designed_mm(ordered, points)
    slope = math.tan(math.radians(ordered.incise.cutter.included_angle_deg) / 2)
    slack = ordered.tolerance_mm + 0.02 + 0.01 / slope
    found = []
    for name, off in (("overcut", carved - designed), ("undercut", designed - carved)):
        if len(off) and off.max() > slack:
            worst = int(np.argmax(off))
            depths = f"carved {carved[worst]:.3f}, designed {designed[worst]:.3f}"
            found.append(
                f"{name} {off[worst]:.3f} mm at {points[worst].round(3).tolist()}: {depths}; "
                f"{np.count_nonzero(off > slack)} of {len(off)} points"
            )
    return found


def _scattered(shape: Polygon, chance: np.random.Generator) -> Floats:
    left, bottom, right, top = shape.bounds
    return chance.uniform((left, bottom), (right, top), (_POINTS, 2))


def _beside(line: BaseGeometry, chance: np.random.Generator, most_mm: float, count: int = _POINTS) -> Floats:
    if line.is_empty:
        return np.empty((0, 2))
    parts = shapely.get_parts(line)
    lengths = shapely.length(parts)
    which = chance.choice(len(parts), count, p=lengths / lengths.sum())
    on = shapely.line_interpolate_point(parts[which], chance.uniform(0, 1, count), normalized=True)
    return np.asarray(shapely.get_coordinates(on) + chance.uniform(-most_mm, most_mm, (count, 2)))
