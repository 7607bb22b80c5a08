"""Growth that neither joins two parts of a drawing nor closes, splits or fills a gap."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from workers.geometry.polygon_repair import region_of
from workers.values.region import Region

_SPECK_FRACTION = 0.125  # of the room squared: a smaller pocket that growth leaves would break out
_TOUCHING_MM = 1e-3  # what growth has closed off it touches, but for rounding
_ROUNDS = 4


@dataclass(frozen=True, slots=True, eq=False)
class _Faults:
    """What growth has done to the topology."""

    closed: tuple[Polygon, ...]  # gaps that are now cut off from the one they belonged to
    filled: tuple[Polygon, ...]  # holes that are gone
    joined: tuple[Polygon, ...]  # parts that were more than one

    @property
    def none(self) -> bool:
        return not (self.closed or self.filled or self.joined)


def grown(region: Region, growth: BaseGeometry, room_mm: float) -> Region:
    """Return the area with growth added, as much of it as keeps every part, hole and gap.

    Growth is taken back only around a fault, in widening rings; where that does not help, the whole piece.

    Args:
        region: The area.
        growth: What to add; it should overlap the area rather than fit to it.
        room_mm: How far around a gap that growth has cut off it is first taken back.
    """
    for turn in itertools.count():
        result = _added(region, growth, room_mm**2 * _SPECK_FRACTION)
        faults = _faults(region, result)
        if faults.none:
            return result
        if turn < _ROUNDS:
            taken_back = _reopened(faults, room_mm * 2**turn) + _bridges(region, growth, faults.joined)
            growth = shapely.difference(growth, shapely.union_all(taken_back))
            continue
        less = _without_pieces_at(growth, [*faults.closed, *faults.filled, *faults.joined])
        if shapely.get_num_geometries(less) == shapely.get_num_geometries(growth):
            break
        growth = less
    return region


def parts_and_holes(region: Region) -> tuple[int, int]:
    """Return how many parts an area has, and how many holes."""
    parts = region.polygons.geoms
    return len(parts), sum(len(part.interiors) for part in parts)


def _reopened(faults: _Faults, room_mm: float) -> list[BaseGeometry]:
    return [*(gap.buffer(room_mm) for gap in faults.closed), *faults.filled]


def _without_pieces_at(growth: BaseGeometry, places: list[Polygon]) -> BaseGeometry:
    """Return growth without its pieces that touch any of the places: what cannot be mended is not done."""
    pieces = shapely.get_parts(growth)
    touching = shapely.STRtree(pieces).query(places, predicate="dwithin", distance=_TOUCHING_MM)[1]
    return shapely.GeometryCollection(np.delete(pieces, touching).tolist())


def _added(region: Region, growth: BaseGeometry, speck_mm2: float) -> Region:
    """Return the union, without pieces that stand apart and without specks of paper in new ink."""
    joined = region_of(shapely.union(region.polygons, growth))
    tree = shapely.STRtree(list(region.polygons.geoms))
    touching = np.unique(tree.query(list(joined.polygons.geoms), predicate="intersects")[0])
    old_gaps = shapely.STRtree(_holes(region))
    parts = []
    for number in touching.tolist():
        part = joined.polygons.geoms[number]
        kept = [ring for ring in part.interiors if not _is_new_speck(Polygon(ring), old_gaps, speck_mm2)]
        parts.append(Polygon(part.exterior, kept))
    return Region(MultiPolygon(parts))


def _is_new_speck(hole: Polygon, old_holes: shapely.STRtree, speck_mm2: float) -> bool:
    """Tell whether a hole is tiny and not all that is left of an old one of the same size."""
    if hole.area >= speck_mm2:
        return False
    containing = old_holes.query(hole.representative_point(), predicate="within")
    return all(old_holes.geometries[number].area >= speck_mm2 for number in containing.tolist())


def _holes(region: Region) -> list[Polygon]:
    return [Polygon(ring) for part in region.polygons.geoms for ring in part.interiors]


def _faults(before: Region, after: Region) -> _Faults:
    """Compare the gaps and parts of two areas, the second holding all of the first."""
    old_holes, new_holes = _holes(before), _holes(after)
    gap_of_hole = _containers(old_holes, _paper_points(new_holes, after))
    by_gap: dict[int, list[Polygon]] = {}
    for hole, gap in zip(new_holes, gap_of_hole, strict=True):
        by_gap.setdefault(gap, []).append(hole)
    closed = list(by_gap.pop(-1, []))  # cut off from the open field
    for holes in by_gap.values():
        closed += sorted(holes, key=lambda hole: hole.area)[:-1]
    filled = [hole for number, hole in enumerate(old_holes) if number not in by_gap]
    parts = list(after.polygons.geoms)
    part_of = _containers(parts, [part.representative_point() for part in before.polygons.geoms])
    joined = [parts[number] for number in sorted(set(part_of)) if part_of.count(number) > 1]
    return _Faults(tuple(closed), tuple(filled), tuple(joined))


def _paper_points(holes: list[Polygon], region: Region) -> list[Point]:
    """Return a point of each hole that lies in no island within it, nor in a hole of that."""
    islands = shapely.STRtree([Polygon(part.exterior) for part in region.polygons.geoms])
    points = []
    for hole in holes:
        within = islands.geometries[islands.query(hole, predicate="contains")]
        points.append(shapely.difference(hole, shapely.union_all(within)).representative_point())
    return points


def _containers(areas: list[Polygon], points: list[Point]) -> list[int]:
    """Return for each point the smallest area that holds it, -1 for none."""
    found = [-1] * len(points)
    if not areas or not points:
        return found
    pairs = shapely.STRtree(areas).query(points, predicate="within")
    for one, area in sorted(pairs.T.tolist(), key=lambda pair: (pair[0], -areas[pair[1]].area)):
        found[one] = area
    return found


def _bridges(region: Region, growth: BaseGeometry, joined: Iterable[Polygon]) -> list[BaseGeometry]:
    """Return the pieces of growth that touch more than one part of the old area."""
    added = shapely.difference(growth, region.polygons)
    pieces = [piece for part in joined for piece in shapely.get_parts(shapely.intersection(added, part))]
    parts = list(region.polygons.geoms)
    return [piece for piece in pieces if np.count_nonzero(shapely.intersects(parts, piece)) > 1]
