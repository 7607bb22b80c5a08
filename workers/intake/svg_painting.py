"""Painted areas of an SVG put together into the inked area.

Dark paint adds its area, light paint takes its own away from what lies beneath.
Where areas lie apart their loops are kept as they are; where they overlap, a
general path library does the set operations on the curves. Its result is compared
with the same operations on polygons by another library, which stands in if the
two disagree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pathops
import shapely
from shapely.geometry import MultiPolygon, box

from workers.geometry.filling import Ring, areas_of, filled
from workers.geometry.flattening import flat_rings
from workers.geometry.polygon_loops import loops_of
from workers.intake.svg_area import Area, Loops, Paint, rectangle
from workers.intake.svg_curves import from_path, parted, to_path
from workers.intake.svg_notes import Notes
from workers.intake.svg_repairs import (
    SMALLEST_MM2,
    ring_area,
    rings_of,
    tell_of_crossings,
    tell_of_overlaps,
)

SAME_MM = 0.01  # areas that differ by less than so wide a band along their outline are the same


@dataclass(frozen=True, slots=True, eq=False)
class Inked:
    """The inked area as loops, filled even-odd, and what it took to make it."""

    loops: Loops = ()
    is_polygonal: bool = False  # polygons had to stand in for curves
    is_cut: bool = False  # the page cut ink off


def inked(paints: Sequence[Paint], page: tuple[float, float] | None, notes: Notes | None = None) -> Inked:
    """Return the inked area.

    Args:
        paints: In the order in which they are painted.
        page: Width and height of the page, which shows nothing beyond itself.
        notes: Told of shapes that cross or overlap.
    """
    if not paints:
        return Inked()
    clips: dict[int, MultiPolygon] = {}
    seen = [_seen(paint, clips, notes) for paint in paints]
    polygons = [shape for shape, _ in seen]
    is_whole = all(is_as_drawn for _, is_as_drawn in seen) and all(paint.is_ink for paint in paints)
    if is_whole and _lie_within(polygons, page) and _lie_apart(polygons):
        return Inked(tuple(loop for paint in paints for loop in paint.area.loops))
    if notes is not None:
        for first, last in _runs(paints):
            if paints[first].is_ink:
                tell_of_overlaps(paints[first:last], polygons[first:last], notes)
    ink = _painted(polygons, paints)
    is_cut = False
    if page is not None and not ink.is_empty:
        frame = box(0.0, 0.0, *page)
        is_cut = not _lie_within([ink], page)
        ink = _areas(ink.intersection(frame)) if is_cut else ink
    loops = _painted_curves(paints, page if is_cut else None)
    if loops is None or not _are_simple(loops) or not _is_same(_polygons(Area(loops, True)), ink):
        return Inked(loops_of(ink), True, is_cut)
    return Inked(loops, False, is_cut)


def _polygons(area: Area) -> MultiPolygon:
    """Return an area as polygons."""
    return filled(rings_of(area), area.is_even_odd)


def _areas(shape: shapely.Geometry) -> MultiPolygon:
    """Return the polygons of a set operation, without the slivers that it leaves in corners."""
    return areas_of(shape, SMALLEST_MM2)


def _seen(paint: Paint, clips: dict[int, MultiPolygon], notes: Notes | None) -> tuple[MultiPolygon, bool]:
    """Return what is seen of a paint, and whether its loops are the very outlines of that.

    Args:
        paint: The paint.
        clips: Clips as polygons; those once made are kept here for the next paint.
        notes: Told if its own outlines cross.
    """
    rings = rings_of(paint.area)
    shape = filled(rings, paint.area.is_even_odd)
    is_as_drawn = _has_rings(shape, rings)
    if notes is not None and paint.is_outline and not is_as_drawn:
        tell_of_crossings(rings, notes)
    for clip in paint.clips:
        if id(clip) not in clips:
            clips[id(clip)] = _polygons(clip)
            shapely.prepare(clips[id(clip)])
        if not clips[id(clip)].contains_properly(shape):
            shape = _areas(shapely.intersection(shape, clips[id(clip)]))
            is_as_drawn = is_as_drawn and _has_rings(shape, rings)
    return shape, is_as_drawn


def seen_polygons(paint: Paint) -> MultiPolygon:
    """Return what is seen of a paint as polygons."""
    return _seen(paint, {}, None)[0]


def _has_rings(shape: MultiPolygon, rings: Sequence[Ring]) -> bool:
    """Return whether the rings of polygons are these, judged by their areas."""
    filling = shapely.get_rings(shapely.get_parts(shape))
    if len(filling) != len(rings):
        return False
    own = np.sort([abs(ring_area(ring)) for ring in rings])
    made = np.sort([abs(ring_area(shapely.get_coordinates(ring)[:-1])) for ring in filling])
    return bool(np.all(np.abs(own - made) <= 1e-9 * np.maximum(own, 1.0)))


def _painted(polygons: Sequence[MultiPolygon], paints: Sequence[Paint]) -> MultiPolygon:
    """Paint polygons in order; neighbours of one tone go on together."""
    ink = MultiPolygon()
    for first, last in _runs(paints):
        together = shapely.union_all(polygons[first:last])
        ink = _areas(ink.union(together) if paints[first].is_ink else ink.difference(together))
    return ink


def _runs(paints: Sequence[Paint]) -> list[tuple[int, int]]:
    """Return the stretches of paints of one tone."""
    starts = [i for i in range(len(paints)) if i == 0 or paints[i].is_ink != paints[i - 1].is_ink]
    return list(zip(starts, [*starts[1:], len(paints)], strict=True))


def _lie_within(polygons: Sequence[MultiPolygon], page: tuple[float, float] | None) -> bool:
    """Return whether no shape reaches over the page."""
    if page is None:
        return True
    left, bottom, right, top = shapely.total_bounds(polygons)
    beyond = (-left, -bottom, right - page[0], top - page[1])  # not a number where all are empty
    return not any(reach > SAME_MM for reach in beyond)


def _lie_apart(polygons: Sequence[MultiPolygon]) -> bool:
    """Return whether no shape touches another."""
    first, second = shapely.STRtree(polygons).query(polygons, predicate="intersects")
    return bool((first == second).all())


def _are_simple(loops: Loops) -> bool:
    """Return whether no loop crosses or touches itself."""
    rings = [ring for ring in rings_of(Area(loops, True)) if len(ring) >= 3]
    return bool(shapely.is_simple([shapely.LinearRing(ring) for ring in rings]).all())


def _is_same(one: MultiPolygon, other: MultiPolygon) -> bool:
    """Return whether two areas differ by no more than a narrow band along their outline."""
    difference = shapely.symmetric_difference(one, other)
    return bool(difference.area <= SAME_MM / 10 * other.length + SMALLEST_MM2) and bool(
        difference.buffer(-SAME_MM / 2).is_empty
    )


def _painted_curves(paints: Sequence[Paint], page: tuple[float, float] | None) -> Loops | None:
    """Paint curves in order with the path library; None if it gives up."""
    try:
        ink = pathops.Path()
        for first, last in _runs(paints):
            together = _united([_clipped_path(paint) for paint in paints[first:last]])
            kind = pathops.PathOp.UNION if paints[first].is_ink else pathops.PathOp.DIFFERENCE
            ink = _operated(ink, together, kind)
        if page is not None:
            ink = _within(ink, to_path(rectangle(0.0, 0.0, *page, np.eye(3))))
        loops = tuple(part for loop in from_path(ink) for part in parted(loop))
        areas = [abs(ring_area(ring)) for ring in flat_rings(loops, SAME_MM)]
        return tuple(loop for loop, area in zip(loops, areas, strict=True) if area > SMALLEST_MM2)
    except pathops.PathOpsError:
        return None


def _united(paths: Sequence[pathops.Path]) -> pathops.Path:
    """Return paths joined, two by two: the library's way of joining many at once loses holes."""
    while len(paths) > 1:
        joined = [
            _operated(one, other, pathops.PathOp.UNION)
            for one, other in zip(paths[::2], paths[1::2], strict=False)
        ]
        paths = [*joined, paths[-1]] if len(paths) % 2 else joined
    return paths[0]


def _clipped_path(paint: Paint) -> pathops.Path:
    path = to_path(paint.area)
    for clip in paint.clips:
        path = _within(path, to_path(clip))
    return path


def _within(path: pathops.Path, frame: pathops.Path) -> pathops.Path:
    return _operated(path, frame, pathops.PathOp.INTERSECTION)


def _operated(one: pathops.Path, other: pathops.Path, kind: pathops.PathOp) -> pathops.Path:
    return pathops.op(one, other, kind, fix_winding=False, keep_starting_points=False)
