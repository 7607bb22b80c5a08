"""Which fitted loops cross themselves or another."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.cubic import point_at
from workers.tracing.curve_fitting import Pieces

Points = NDArray[np.float64]
Indices = NDArray[np.int32]

CHORDS_WITHIN_PX = 0.02


def crossing_loops(pieces: Pieces, cell_px: float = 8.0) -> NDArray[np.bool_]:
    """Return for each loop whether it crosses itself or another loop.

    The loops are looked at as chords, sorted into the cells of a grid; only chords
    that share a cell can meet.

    Args:
        pieces: Fitted loops, px.
        cell_px: Side of a grid cell.
    """
    chords, loops = _chords(pieces.controls, pieces.starts)
    crossed = np.zeros(len(pieces.starts) - 1, np.bool_)
    if len(chords):
        low = np.minimum(chords[:, 0], chords[:, 1]).min(axis=0)
        high = np.maximum(chords[:, 0], chords[:, 1]).max(axis=0)
        columns, rows = (int(size) + 1 for size in (high - low) / cell_px)
        _mark(chords, loops, low, cell_px, rows, columns, crossed)
    return crossed


@njit(cache=True)
def _chords(controls: Points, starts: Indices) -> tuple[Points, Indices]:
    """Return chords (n, 2, 2) along the pieces, and the loop of each."""
    steps = np.empty(len(controls), np.int32)
    for k in range(len(controls)):
        steps[k] = _steps(controls[k])
    chords = np.empty((steps.sum(), 2, 2), np.float64)
    loops = np.empty(len(chords), np.int32)
    count = 0
    for loop in range(len(starts) - 1):
        for k in range(starts[loop], starts[loop + 1]):
            piece = controls[k]
            x, y = piece[0, 0], piece[0, 1]
            for step in range(1, steps[k] + 1):
                chords[count, 0, 0], chords[count, 0, 1] = x, y
                x, y = point_at(piece, step / steps[k])
                chords[count, 1, 0], chords[count, 1, 1] = x, y
                loops[count] = loop
                count += 1
            # neighbours must share their end to the last bit, or they would seem to cross there
            chords[count - 1, 1] = piece[3]
    return chords, loops


@njit(cache=True)
def _steps(piece: Points) -> int:
    """Return into how many chords a piece is cut: the bound on linear interpolation, with f'' of a cubic."""
    bend = 0.0
    for k in range(2):
        x = piece[k, 0] - 2 * piece[k + 1, 0] + piece[k + 2, 0]
        y = piece[k, 1] - 2 * piece[k + 1, 1] + piece[k + 2, 1]
        bend = max(bend, math.hypot(x, y))
    return max(math.ceil(math.sqrt(6 * bend / (8 * CHORDS_WITHIN_PX))), 1)


@njit(cache=True)
def _columns(chord: Points, low: Points, cell: float, row: int) -> tuple[int, int]:
    """Return the first and last column of the grid that a chord touches in one row."""
    ax, ay = (chord[0, 0] - low[0]) / cell, (chord[0, 1] - low[1]) / cell
    bx, by = (chord[1, 0] - low[0]) / cell, (chord[1, 1] - low[1]) / cell
    left, right = min(ax, bx), max(ax, bx)
    if int(ay) != int(by):
        slope = (bx - ax) / (by - ay)
        first = min(max(ax + (row - ay) * slope, left), right)
        last = min(max(ax + (row + 1 - ay) * slope, left), right)
        left, right = min(first, last), max(first, last)
    return max(math.floor(left - 1e-9), 0), math.floor(right + 1e-9)


@njit(cache=True)
def _seat(
    chords: Points,
    low: Points,
    cell: float,
    columns: int,
    nexts: Indices,
    members: Indices,
) -> None:
    """Go through the cells that each chord touches: count its chords, or, given room, write them down."""
    for index in range(len(chords)):
        chord = chords[index]
        top = int((min(chord[0, 1], chord[1, 1]) - low[1]) / cell)
        bottom = int((max(chord[0, 1], chord[1, 1]) - low[1]) / cell)
        for row in range(top, bottom + 1):
            first, last = _columns(chord, low, cell, row)
            for column in range(first, min(last, columns - 1) + 1):
                at = row * columns + column
                if len(members) > 0:
                    members[nexts[at]] = index
                nexts[at] += 1


@njit(cache=True)
def _mark(
    chords: Points,
    loops: Indices,
    low: Points,
    cell: float,
    rows: int,
    columns: int,
    crossed: NDArray[np.bool_],
) -> None:
    """Mark the loops whose chords cross."""
    counts = np.zeros(rows * columns + 1, np.int32)
    _seat(chords, low, cell, columns, counts, np.empty(0, np.int32))
    ends = np.cumsum(counts).astype(np.int32)
    nexts = ends - counts
    members = np.empty(ends[-1], np.int32)
    _seat(chords, low, cell, columns, nexts, members)
    for at in range(rows * columns):
        for i in range(ends[at] - counts[at], ends[at]):
            for j in range(i + 1, ends[at]):
                a, b = loops[members[i]], loops[members[j]]
                if not (crossed[a] and crossed[b]) and _cross(chords[members[i]], chords[members[j]]):
                    crossed[a] = True
                    crossed[b] = True


@njit(cache=True)
def _cross(first: Points, second: Points) -> bool:
    """Return whether two chords meet anywhere but at an end that they share."""
    a, b, c, d = first[0], first[1], second[0], second[1]
    if _is_same(b, c):
        return _is_same(a, d) or _doubles_back(b, a, d)
    if _is_same(a, d):
        return _doubles_back(a, b, c)
    for axis in range(2):
        if max(a[axis], b[axis]) < min(c[axis], d[axis]) or max(c[axis], d[axis]) < min(a[axis], b[axis]):
            return False
    return _side(a, b, c) * _side(a, b, d) <= 0.0 and _side(c, d, a) * _side(c, d, b) <= 0.0


@njit(cache=True)
def _side(a: Points, b: Points, c: Points) -> float:
    """Return twice the area of the triangle, positive if it turns left."""
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


@njit(cache=True)
def _is_same(a: Points, b: Points) -> bool:
    return bool(a[0] == b[0] and a[1] == b[1])


@njit(cache=True)
def _doubles_back(joint: Points, one: Points, other: Points) -> bool:
    """Return whether two chords that share an end lie on each other."""
    along = (one[0] - joint[0]) * (other[0] - joint[0]) + (one[1] - joint[1]) * (other[1] - joint[1])
    return _side(joint, one, other) == 0.0 and along > 0.0
