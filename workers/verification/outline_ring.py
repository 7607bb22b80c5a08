"""Walks round the board's outline to see where it is cut through, and what holds it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon, box

from workers.values.design import Board
from workers.verification.grid import Grid
from workers.verification.tolerances import DEPTH_ROUNDING_MM

_STEPS_A_CELL = 4
_COUNTED_SHARE = 0.8  # of a bridge's width: cells at its ends are cut in part


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge:
    """A piece of the ring that is not cut through."""

    width_mm: float
    height_mm: float  # of what is left over the width asked for, from the underside
    at_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ring:
    """Depths along a line that keeps a distance from the outline; closed."""

    points_mm: NDArray[np.float64]  # (n, 2), evenly spaced
    depth_mm: NDArray[np.float64]
    step_mm: float


def outline_of(board: Board) -> Polygon:
    """Return the outline of a board of which only the size is known."""
    radius_mm = min(board.corner_radius_mm, board.width_mm / 2, board.height_mm / 2)
    inner = box(radius_mm, radius_mm, board.width_mm - radius_mm, board.height_mm - radius_mm)
    return inner.buffer(radius_mm, quad_segs=32) if radius_mm > 0 else inner


def left_of(outline: Polygon, eaten_mm: float) -> Polygon:
    """Return what is left of a board of which a cutout takes so much all round; the largest part.

    An outline of which nothing is left is returned as it is: the gates then find it cut away.
    """
    shrunk = shapely.get_parts(outline.buffer(-eaten_mm, quad_segs=32)).tolist()
    parts = [part for part in shrunk if not part.is_empty]
    return max(parts, key=lambda part: part.area) if parts else outline


def ring_round(outline: Polygon, distance_mm: float, depth_mm: NDArray[np.float32], grid: Grid) -> Ring:
    """Return the depths along the line that a bit of that radius follows to cut the board free.

    Args:
        outline: The board's edge.
        distance_mm: Outwards from it.
        depth_mm: The carved depth.
        grid: Where its cells are.
    """
    corners = shapely.get_coordinates(outline.buffer(distance_mm, quad_segs=32).exterior)
    sides = np.diff(corners, axis=0)
    travelled_mm = np.concatenate(([0.0], np.cumsum(np.hypot(sides[:, 0], sides[:, 1]))))
    count = max(int(np.ceil(travelled_mm[-1] / grid.cell_mm * _STEPS_A_CELL)), 1)
    step_mm = float(travelled_mm[-1]) / count
    places_mm = np.arange(count) * step_mm
    points_mm = np.stack([np.interp(places_mm, travelled_mm, corners[:, axis]) for axis in (0, 1)], axis=1)
    columns = np.floor((points_mm[:, 0] - grid.left_mm) / grid.cell_mm).astype(np.intp)
    rows = np.floor((points_mm[:, 1] - grid.bottom_mm) / grid.cell_mm).astype(np.intp)
    height, width = depth_mm.shape
    known = (columns >= 0) & (columns < width) & (rows >= 0) & (rows < height)
    depths = np.zeros(count)
    depths[known] = depth_mm[rows[known], columns[known]]
    return Ring(points_mm=points_mm, depth_mm=depths, step_mm=step_mm)


def freed_fraction(ring: Ring, thickness_mm: float) -> float:
    """Return how much of the ring is cut through."""
    return float((ring.depth_mm >= thickness_mm - DEPTH_ROUNDING_MM).mean())


def bridges_of(ring: Ring, thickness_mm: float, wanted_mm: float = 0.0) -> tuple[Bridge, ...]:
    """Return what is left standing along the ring, in the order of its points.

    Args:
        ring: Depths along the bit's way round the outline.
        thickness_mm: Of the board.
        wanted_mm: How wide a bridge shall be: what stands over so much of it counts as its height;
            0 takes the highest place.
    """
    left = ring.depth_mm < thickness_mm - DEPTH_ROUNDING_MM
    if left.all() or not left.any():
        return ()
    first_gap = int(np.flatnonzero(~left)[0])
    order = (np.arange(len(left)) + first_gap) % len(left)  # begins in a gap, so no bridge is cut in two
    edges = np.diff(left[order].astype(np.int8), append=0)
    starts, ends = np.flatnonzero(edges == 1) + 1, np.flatnonzero(edges == -1) + 1
    return tuple(
        _bridge(ring, order[start:end], thickness_mm, wanted_mm)
        for start, end in zip(starts, ends, strict=True)
    )


def _bridge(ring: Ring, places: NDArray[np.intp], thickness_mm: float, wanted_mm: float) -> Bridge:
    middle = ring.points_mm[places[len(places) // 2]]
    highest_mm = np.sort(thickness_mm - ring.depth_mm[places])[::-1]
    counted = int(min(len(places), wanted_mm / ring.step_mm) * _COUNTED_SHARE)
    return Bridge(
        width_mm=len(places) * ring.step_mm,
        height_mm=float(highest_mm[max(counted - 1, 0)]),
        at_mm=(round(float(middle[0]), 3), round(float(middle[1]), 3)),
    )
