"""An area covered by rings inside one another, run from the innermost outwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString

from workers.geometry.offsets import inset_levels
from workers.toolpaths.circuit import Circuit
from workers.values.region import Region

Floats = NDArray[np.float64]

_EDGE_MM = 0.003  # how far a link may stray over the area's edge: the chords of its round corners


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


def nested(
    levels: Sequence[Sequence[Sequence[Circuit]]], farthest_mm: float | None = None
) -> list[list[Circuit]]:
    """Return the rings of each part of the first level with all that lies inside it.

    From level to level each ring belongs to the nearest one outside it; it comes before that.

    Args:
        levels: The rings of each part of each level, outermost first.
        farthest_mm: A part all of whose rings are farther than this from those of the level outside it
            stands by itself; without it none does.
    """
    found: list[list[_Ring]] = []
    above: list[_Ring] = []
    for level in levels:
        parts = [[_Ring(circuit) for circuit in part] for part in level]
        rings = [ring for part in parts for ring in part]
        hung = _hung(above, rings, farthest_mm)
        found += [part for part in parts if not any(id(ring) in hung for ring in part)]
        above = rings
    return [[circuit for ring in part for circuit in ring.inner_first()] for part in found]


def _hung(outer: Sequence[_Ring], inner: Sequence[_Ring], farthest_mm: float | None) -> set[int]:
    """Hang inner rings to the outer ones nearest to their starts; tell which hang, by identity."""
    if not outer or not inner:
        return set()
    tree = shapely.STRtree([LineString(ring.circuit.points_mm) for ring in outer])
    starts = shapely.points(np.array([ring.circuit.points_mm[0] for ring in inner]))
    number, nearest = tree.query_nearest(starts, max_distance=farthest_mm, all_matches=False)
    for ring, parent in zip(number.tolist(), nearest.tolist(), strict=True):
        outer[parent].inner.append(inner[ring])
    return {id(inner[ring]) for ring in number.tolist()}


def ring_levels(area: Region, step_mm: float) -> list[Region]:
    """Return insets of the area, one step apart, the area itself first, none after it empty but the last."""
    parts = list(area.polygons.geoms)
    widest_mm = max(
        (shapely.maximum_inscribed_circle(part, step_mm / 2).length for part in parts), default=0.0
    )
    count = int(widest_mm / step_mm + 0.5) + 1
    return [area, *inset_levels(area, [number * step_mm for number in range(1, count + 1)])]


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
