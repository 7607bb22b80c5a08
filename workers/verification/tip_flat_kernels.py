"""The surface that a cone with a flat tip leaves: the depth of its centre, spread by the flat.

With q the flat's radius, d the distance to the outline and k the flank's slope:
``depth(x) = max over |p - x| <= q of min(limit, (d(p) - q) / k)``. On a wall the best p lies
straight away from the outline, where d is q more than at x, and the depth is
``d(x) / k``. Only near the middle line, where the ways from several pieces meet, is it less;
there the best p is looked for on the way up to the middle line and all round the rim.
``d`` between the centres of cells comes from the pieces that are nearest to the cells about.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

_ON_WALL_MM = 1e-4  # so much less than q more counts as q more
_HALVINGS = 10  # on the way up: q / 1000
_ROUND = 16  # first guesses round the rim
_TURNS = 6  # halvings of the angle between guesses: under 0.4 degrees


@njit(cache=True, nogil=True)
def _to_piece(x, y, piece, starts, directions, lengths):  # type: ignore[no-untyped-def]
    beside_x, beside_y = x - starts[piece, 0], y - starts[piece, 1]
    along_x, along_y = directions[piece, 0], directions[piece, 1]
    along = min(max(beside_x * along_x + beside_y * along_y, 0.0), lengths[piece])
    off_x, off_y = beside_x - along * along_x, beside_y - along * along_y
    return off_x * off_x + off_y * off_y


@njit(cache=True, nogil=True)
def _distance(x, y, nearest, inside, left, bottom, cell, starts, directions, lengths, reach):  # type: ignore[no-untyped-def]
    """Distance of any place to the outline, by the pieces of the nine cells about it; 0 outside."""
    rows, columns = nearest.shape
    middle_row = math.floor((y - bottom) / cell)
    middle_column = math.floor((x - left) / cell)
    if not (0 <= middle_row < rows and 0 <= middle_column < columns and inside[middle_row, middle_column]):
        return 0.0
    best = reach * reach
    last = -1
    for row in range(max(middle_row - 1, 0), min(middle_row + 2, rows)):
        for column in range(max(middle_column - 1, 0), min(middle_column + 2, columns)):
            piece = nearest[row, column]
            if piece >= 0 and piece != last:
                best = min(best, _to_piece(x, y, piece, starts, directions, lengths))
                last = piece
    return math.sqrt(best)


@njit(cache=True, nogil=True)
def _best_near(  # type: ignore[no-untyped-def]
    x, y, d, up_x, up_y, q, nearest, inside, left, bottom, cell, starts, directions, lengths, reach
):
    """Return the greatest distance to the outline within q of a place near the middle line."""
    low, high = 0.0, q
    for _ in range(_HALVINGS):
        way = (low + high) / 2
        here = _distance(
            x + way * up_x,
            y + way * up_y,
            nearest,
            inside,
            left,
            bottom,
            cell,
            starts,
            directions,
            lengths,
            reach,
        )
        if here >= d + way - _ON_WALL_MM:
            low = way
        else:
            high = way
    best = d + low
    best_angle, step = 0.0, 2 * math.pi / _ROUND
    rim = -1.0
    for turn in range(_ROUND):
        angle = turn * step
        here = _distance(
            x + q * math.cos(angle),
            y + q * math.sin(angle),
            nearest,
            inside,
            left,
            bottom,
            cell,
            starts,
            directions,
            lengths,
            reach,
        )
        if here > rim:
            rim, best_angle = here, angle
    for _ in range(_TURNS):
        step /= 2
        centre = best_angle
        for side in (-1.0, 1.0):
            angle = centre + side * step
            here = _distance(
                x + q * math.cos(angle),
                y + q * math.sin(angle),
                nearest,
                inside,
                left,
                bottom,
                cell,
                starts,
                directions,
                lengths,
                reach,
            )
            if here > rim:
                rim, best_angle = here, angle
    return max(best, rim)


@njit(cache=True, nogil=True)
def _within_flat(distance_mm, row, column, q, cell):  # type: ignore[no-untyped-def]
    """Return the greatest distance among the cells whose centres lie within q."""
    rows, columns = distance_mm.shape
    wide = int(q / cell)
    best = distance_mm[row, column]
    for down in range(-wide, wide + 1):
        half = int(math.sqrt(max((q / cell) ** 2 - down * down, 0.0)))
        if 0 <= row + down < rows:
            for beside in range(max(column - half, 0), min(column + half + 1, columns)):
                best = max(best, distance_mm[row + down, beside])
    return best


@njit(cache=True, nogil=True)
def settle_flat(
    surface_mm: NDArray[np.float32],
    distance_mm: NDArray[np.float32],
    nearest: NDArray[np.int32],
    inside: NDArray[np.uint8],
    first_row: int,
    last_row: int,
    left_mm: float,
    bottom_mm: float,
    cell_mm: float,
    starts_mm: NDArray[np.float64],
    directions: NDArray[np.float64],
    lengths_mm: NDArray[np.float64],
    slope: float,
    tip_radius_mm: float,
    depth_limit_mm: float,
    reach_mm: float,
) -> None:
    """Fill rows of the surface.

    Args:
        surface_mm: Filled.
        distance_mm: Distance to the outline where it is below ``reach_mm``, 0 outside.
        nearest: The piece of the outline each distance belongs to.
        inside: 1 inside the area.
        first_row: First row to fill.
        last_row: Row after the last.
        left_mm: x of the map's left edge.
        bottom_mm: y of its lower edge.
        cell_mm: Side of a cell.
        starts_mm: (n, 2) of the pieces.
        directions: (n, 2).
        lengths_mm: (n,).
        slope: tan of the bit's half angle.
        tip_radius_mm: Of its flat tip.
        depth_limit_mm: Deepest cut.
        reach_mm: Distances from here on are unknown, and on the floor.
    """
    q = tip_radius_mm
    for row in range(first_row, last_row):
        y = bottom_mm + (row + 0.5) * cell_mm
        for column in range(surface_mm.shape[1]):
            if not inside[row, column]:
                surface_mm[row, column] = 0.0
                continue
            d = float(distance_mm[row, column])
            if d >= slope * depth_limit_mm + q:
                surface_mm[row, column] = depth_limit_mm
                continue
            piece = nearest[row, column]
            x = left_mm + (column + 0.5) * cell_mm
            along = (x - starts_mm[piece, 0]) * directions[piece, 0] + (y - starts_mm[piece, 1]) * directions[
                piece, 1
            ]
            along = min(max(along, 0.0), lengths_mm[piece])
            up_x = x - starts_mm[piece, 0] - along * directions[piece, 0]
            up_y = y - starts_mm[piece, 1] - along * directions[piece, 1]
            size = math.hypot(up_x, up_y)
            if size < 1e-9:
                surface_mm[row, column] = 0.0
                continue
            up_x, up_y = up_x / size, up_y / size
            best = _distance(
                x + q * up_x,
                y + q * up_y,
                nearest,
                inside,
                left_mm,
                bottom_mm,
                cell_mm,
                starts_mm,
                directions,
                lengths_mm,
                reach_mm,
            )
            if best < d + q - _ON_WALL_MM:
                best = _best_near(
                    x,
                    y,
                    d,
                    up_x,
                    up_y,
                    q,
                    nearest,
                    inside,
                    left_mm,
                    bottom_mm,
                    cell_mm,
                    starts_mm,
                    directions,
                    lengths_mm,
                    reach_mm,
                )
                best = max(best, _within_flat(distance_mm, row, column, q, cell_mm))
            else:
                best = d + q
            surface_mm[row, column] = min(depth_limit_mm, max(best - q, 0.0) / slope)
