"""Where a repair has moved the outline, and how far."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from workers.values.region import Region

FILM_MM = 0.003  # what is thinner than this is rounding, not a move
_STEP_MM = 0.05  # how closely the new outline is looked at


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One place where ink was added or taken away."""

    at_mm: tuple[float, float]  # where the outline has moved farthest
    moved_mm: float
    area_mm2: float
    added: bool  # False: ink was taken away


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """What differs between two areas."""

    added: BaseGeometry
    taken: BaseGeometry
    moves: tuple[Move, ...]  # the farthest first

    @property
    def moved_mm(self) -> float:
        """How far the outline has moved at most."""
        return self.moves[0].moved_mm if self.moves else 0.0


def change_between(before: Region, after: Region) -> Change:
    """Return what was added to an area and taken from it, thicker than rounding."""
    if after is before:
        nothing = shapely.GeometryCollection()
        return Change(nothing, nothing, ())
    added = shapely.difference(after.polygons, before.polygons)
    taken = shapely.difference(before.polygons, after.polygons)
    sides = _sides(before)
    moves = [*_moves(added, sides, added=True), *_moves(taken, sides, added=False)]
    return Change(added, taken, tuple(sorted(moves, key=lambda move: (-move.moved_mm, move.at_mm))))


def _moves(difference: BaseGeometry, sides: shapely.STRtree, *, added: bool) -> list[Move]:
    pieces = shapely.segmentize(
        shapely.get_parts(difference), _STEP_MM
    )  # a filled notch has no corner off it
    corners_mm, piece = shapely.get_coordinates(pieces, return_index=True)
    if not len(pieces) or not len(sides):
        return []
    _, distances_mm = sides.query_nearest(shapely.points(corners_mm), return_distance=True, all_matches=False)
    starts = np.flatnonzero(np.diff(piece, prepend=-1))
    farthest_mm = np.maximum.reduceat(distances_mm, starts)
    return [
        Move(
            at_mm=_place(corners_mm[piece == number], distances_mm[piece == number]),
            moved_mm=float(farthest_mm[number]),
            area_mm2=float(pieces[number].area),
            added=added,
        )
        for number in np.flatnonzero(farthest_mm > FILM_MM).tolist()
    ]


def _place(corners_mm: NDArray[np.float64], distances_mm: NDArray[np.float64]) -> tuple[float, float]:
    x_mm, y_mm = corners_mm[int(distances_mm.argmax())].tolist()
    return x_mm, y_mm


def _sides(region: Region) -> shapely.STRtree:
    """Return the sides of an area's outline one by one: whole rings would be searched from side to side."""
    rings = shapely.get_rings(shapely.get_parts(region.polygons))
    points_mm, ring = shapely.get_coordinates(rings, return_index=True)
    pairs_mm = np.stack([points_mm[:-1], points_mm[1:]], axis=1)
    return shapely.STRtree(np.asarray(shapely.linestrings(pairs_mm[ring[:-1] == ring[1:]])))
