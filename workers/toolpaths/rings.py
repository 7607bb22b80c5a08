"""An area covered by rings inside one another, run from the innermost outwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from workers.geometry.offsets import inset, inset_levels, outset
from workers.geometry.polygon_repair import region_of
from workers.toolpaths.circuit import Circuit
from workers.toolpaths.corner_reach import ReachingRing, reached, reaching_ring
from workers.values.region import Region

Floats = NDArray[np.float64]

_EDGE_MM = 0.003  # how far a link may stray over the area's edge: the chords of its round corners
_SPECK_FRACTION = 0.1  # of the reach; what is smaller than its square is rounding


class Room:
    """An area in which the bit may go straight from place to place at full depth."""

    def __init__(self, area: Region) -> None:
        self._area_mm = area.polygons.buffer(_EDGE_MM)
        shapely.prepare(self._area_mm)

    def holds(self, links_mm: Floats) -> NDArray[np.bool_]:
        """Return which of the links (n, 2, 2), or of ways over more places, stay inside."""
        return np.asarray(shapely.covers(self._area_mm, shapely.linestrings(links_mm)))


@dataclass(slots=True, eq=False)
class _Ring:
    """One ring, and the rings of the next level that came out of it."""

    circuit: Circuit
    inner: list[_Ring] = field(default_factory=list)

    def inner_first(self) -> list[Circuit]:
        outer_first: list[Circuit] = []
        waiting = [self]  # not by calling itself: a wide floor is thousands of rings deep
        while waiting:
            ring = waiting.pop()
            outer_first.append(ring.circuit)
            waiting += ring.inner
        return outer_first[::-1]


def pockets(levels: Sequence[Region]) -> list[list[Circuit]]:
    """Return the rings of each part of the first level with all that lies inside it, as ``nested``."""
    return nested([ring_parts(level) for level in levels])


def ring_parts(level: Region) -> list[list[Circuit]]:
    """Return the rings of each part of a level, the area on their left."""
    return [[_circuit(ring) for ring in (part.exterior, *part.interiors)] for part in level.polygons.geoms]


def nested(levels: Sequence[Sequence[Sequence[Circuit]]]) -> list[list[Circuit]]:
    """Return the rings of each part of the first level with all that lies inside it.

    From level to level each ring belongs to the nearest one outside it; it comes before that.

    Args:
        levels: The rings of each part of each level, outermost first.
    """
    found: list[list[_Ring]] = []
    above: list[_Ring] = []
    for level in levels:
        parts = [[_Ring(circuit) for circuit in part] for part in level]
        rings = [ring for part in parts for ring in part]
        if not rings:
            break
        if above:
            _join(above, rings)
        else:
            found = parts
        above = rings
    return [[circuit for ring in part for circuit in ring.inner_first()] for part in found]


def _join(outer: Sequence[_Ring], inner: Sequence[_Ring]) -> None:
    """Hang each inner ring to the outer one nearest to its start."""
    tree = shapely.STRtree([LineString(ring.circuit.points_mm) for ring in outer])
    starts = shapely.points(np.array([ring.circuit.points_mm[0] for ring in inner]))
    number, nearest = tree.query_nearest(starts, all_matches=False)
    for ring, parent in zip(number.tolist(), nearest.tolist(), strict=True):
        outer[parent].inner.append(inner[ring])


def ring_levels(area: Region, step_mm: float) -> list[Region]:
    """Return insets of the area, one step apart, the area itself first, none after it empty but the last."""
    parts = list(area.polygons.geoms)
    widest_mm = max(
        (shapely.maximum_inscribed_circle(part, step_mm / 2).length for part in parts), default=0.0
    )
    count = int(widest_mm / step_mm + 0.5) + 1
    return [area, *inset_levels(area, [number * step_mm for number in range(1, count + 1)])]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Covering:
    """Rings and lines that leave no point far from all of them."""

    levels: list[list[list[Circuit]]]  # rings of parts of levels, outermost first; not round the area itself
    lines_mm: list[Floats]  # (n, 2) each


def covering(
    area: Region, step_mm: float, reach_mm: float, middles_mm: Sequence[Floats], room: Room
) -> Covering:
    """Return what leaves no point farther than ``reach_mm`` from a line or the area's edge.

    Insets alone leave such points where an arm or a sharp corner ends between two levels.
    Rings are led out into corners, middle lines that lead to what is left are added, and rings
    round what these do not reach.

    Args:
        area: What to cover.
        step_mm: From ring to ring.
        reach_mm: How far a point may be from what is run; more than half a step.
        middles_mm: Lines along the middle of the area, to use where they help.
        room: What no ring may be led out of.
    """
    levels = ring_levels(area, step_mm)
    deeper = [*levels[1:], Region(MultiPolygon())]
    rings = [_reaching_parts(level, step_mm, reach_mm, room) for level in deeper]
    far = [
        _far_parts(outer, inner, reached([ring for part in parts for ring in part], reach_mm), reach_mm)
        for outer, inner, parts in zip(levels, deeper, rings, strict=True)
    ]
    lines = _helpful(middles_mm, [part for parts in far for part in parts], area)
    near = shapely.union_all([line.buffer(reach_mm) for line in lines])
    kept = [
        [
            *([ring.circuit for ring in part] for part in parts),
            *ring_parts(_worthwhile(MultiPolygon(left).difference(near), reach_mm)),
        ]
        for parts, left in zip(rings, far, strict=True)
    ]
    return Covering(levels=kept, lines_mm=[shapely.get_coordinates(line) for line in lines])


def _reaching_parts(level: Region, step_mm: float, reach_mm: float, room: Room) -> list[list[ReachingRing]]:
    """Return a level's rings led out into corners, as far as there is room."""
    return [
        [reaching_ring(circuit, step_mm, reach_mm, room.holds) for circuit in part]
        for part in ring_parts(level)
    ]


def _far_parts(level: Region, deeper: Region, near: BaseGeometry, reach_mm: float) -> list[Polygon]:
    """Return the parts of a level that neither its own ring nor those inside it reach."""
    if level.polygons.is_empty:
        return []
    far = inset(level, reach_mm).polygons.difference(outset(deeper, reach_mm).polygons)
    return list(_worthwhile(far.difference(near), reach_mm).polygons.geoms)


def _worthwhile(shape: BaseGeometry, reach_mm: float) -> Region:
    """Return what of a shape is more than rounding."""
    return region_of(shape, (_SPECK_FRACTION * reach_mm) ** 2)


def _helpful(middles_mm: Sequence[Floats], parts: Sequence[Polygon], area: Region) -> list[LineString]:
    """Return the middle lines that meet one of the parts, as far as they lie in the area."""
    if not middles_mm or not parts:
        return []
    lines = [LineString(middle_mm) for middle_mm in middles_mm]
    _, found = shapely.STRtree(lines).query(parts, predicate="intersects")
    room_mm = area.polygons.buffer(_EDGE_MM)
    inside = [lines[number].intersection(room_mm) for number in np.unique(found).tolist()]
    pieces = [piece for shape in inside for piece in shapely.get_parts(shape).tolist()]
    return [piece for piece in pieces if isinstance(piece, LineString) and piece.length > 0]


def linked_rings(
    rings: Sequence[Circuit], room: Room, longest_mm: float, at_corners: bool = False
) -> list[list[Circuit]]:
    """Return rings in runs, each ring begun where the one before comes nearest to it.

    Within a run the bit goes straight from the end of a ring to the start of the next: a
    link that stays in the room and is no longer than ``longest_mm``.

    Args:
        rings: In their order.
        room: What links stay in.
        longest_mm: Of links.
        at_corners: Go from corner to corner where there is such a link: a bit all but stops there anyway.
    """
    runs: list[list[Circuit]] = []
    for ring in rings:
        here_mm = runs[-1][-1].points_mm[-1] if runs else ring.points_mm[0]
        starts = [*([ring.from_corner(here_mm)] if at_corners else []), ring.from_nearest(here_mm)]
        linked = [start for start in starts if runs and _is_link(here_mm, start, room, longest_mm)]
        if linked:
            runs[-1].append(linked[0])
        else:
            runs.append([starts[0]])
    return runs


def _is_link(here_mm: Floats, ring: Circuit, room: Room, longest_mm: float) -> bool:
    link_mm = np.vstack([here_mm, ring.points_mm[0]])
    return float(np.linalg.norm(link_mm[1] - link_mm[0])) <= longest_mm and bool(room.holds(link_mm[None])[0])


def _circuit(ring: shapely.LinearRing) -> Circuit:
    return Circuit(shapely.get_coordinates(ring))
