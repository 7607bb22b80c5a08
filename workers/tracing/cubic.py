"""One cubic piece, and how far it strays from the points that it is to follow."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Points = NDArray[np.float64]
Lengths = NDArray[np.float64]

LARGEST_LEAD = 4.0  # tolerances by which a point may lie before or behind its place; aside counts alone


@njit(cache=True)
def place_straight(run: Points, first: int, last: int, piece: Points) -> None:
    """Make the piece the straight line between two points, its inner control points at the thirds."""
    for axis in range(2):
        start, end = run[first, axis], run[last, axis]
        piece[0, axis], piece[1, axis] = start, start + (end - start) / 3
        piece[2, axis], piece[3, axis] = start + (end - start) * 2 / 3, end


@njit(cache=True)
def is_free(ends: Points) -> bool:
    """Return whether both ends may leave as they like."""
    return bool(ends[0, 0] == 0.0 and ends[0, 1] == 0.0 and ends[1, 0] == 0.0 and ends[1, 1] == 0.0)


@njit(cache=True)
def point_at(piece: Points, t: float) -> tuple[float, float]:
    """Return the point of a piece at a parameter."""
    s = 1.0 - t
    b0, b1, b2, b3 = s * s * s, 3 * t * s * s, 3 * t * t * s, t * t * t
    return (
        b0 * piece[0, 0] + b1 * piece[1, 0] + b2 * piece[2, 0] + b3 * piece[3, 0],
        b0 * piece[0, 1] + b1 * piece[1, 1] + b2 * piece[2, 1] + b3 * piece[3, 1],
    )


@njit(cache=True)
def follows(run: Points, along: Lengths, first: int, last: int, piece: Points, tolerance: float) -> bool:
    """Return whether a piece passes the points of a run, and the middles between them, within the tolerance.

    Each point is looked for at its share of the run's length; what it lies before or behind that
    place is no miss. The middles tell whether the piece loops or bulges from one point to the next.
    """
    p0x, p0y = piece[0]
    ax, ay = 3 * (piece[1, 0] - p0x), 3 * (piece[1, 1] - p0y)
    bx, by = 3 * (piece[2, 0] - piece[1, 0]) - ax, 3 * (piece[2, 1] - piece[1, 1]) - ay
    cx, cy = piece[3, 0] - p0x - ax - bx, piece[3, 1] - p0y - ay - by
    square = tolerance * tolerance
    farthest = LARGEST_LEAD * LARGEST_LEAD * square
    start, r = along[first], 1.0 / (along[last] - along[first])
    for i in range(first + 1, last):
        t = (along[i] - start) * r
        ex, ey = (
            p0x + t * (ax + t * (bx + t * cx)) - run[i, 0],
            p0y + t * (ay + t * (by + t * cy)) - run[i, 1],
        )
        dx, dy = ax + t * (2 * bx + t * 3 * cx), ay + t * (2 * by + t * 3 * cy)
        aside = ex * dy - ey * dx
        if aside * aside > square * (dx * dx + dy * dy) or ex * ex + ey * ey > farthest:
            return False
    for i in range(first, last):
        t = ((along[i] + along[i + 1]) / 2 - start) * r
        ex, ey = (
            p0x + t * (ax + t * (bx + t * cx)) - run[i, 0],
            p0y + t * (ay + t * (by + t * cy)) - run[i, 1],
        )
        dx, dy = ax + t * (2 * bx + t * 3 * cx), ay + t * (2 * by + t * 3 * cy)
        on_x, on_y = run[i + 1, 0] - run[i, 0], run[i + 1, 1] - run[i, 1]
        aside = ex * on_y - ey * on_x
        if aside * aside > square * (on_x * on_x + on_y * on_y) or dx * on_x + dy * on_y <= 0.0:
            return False
    return True


@njit(cache=True)
def shift_along(run: Points, along: Lengths, first: int, last: int, piece: Points) -> None:
    """Shift every point along the way towards the foot of its distance from the piece, by Newton's rule."""
    start, length = along[first], along[last] - along[first]
    ax, ay = piece[1, 0] - piece[0, 0], piece[1, 1] - piece[0, 1]
    bx, by = piece[2, 0] - piece[1, 0], piece[2, 1] - piece[1, 1]
    cx, cy = piece[3, 0] - piece[2, 0], piece[3, 1] - piece[2, 1]
    for i in range(first + 1, last):
        t = (along[i] - start) / length
        s = 1.0 - t
        x, y = point_at(piece, t)
        dx, dy = (
            3 * (s * s * ax + 2 * s * t * bx + t * t * cx),
            3 * (s * s * ay + 2 * s * t * by + t * t * cy),
        )
        ddx, ddy = 6 * (s * (bx - ax) + t * (cx - bx)), 6 * (s * (by - ay) + t * (cy - by))
        ex, ey = x - run[i, 0], y - run[i, 1]
        slope = dx * dx + dy * dy + ex * ddx + ey * ddy
        if slope > 1e-12:
            along[i] = start + length * min(max(t - (ex * dx + ey * dy) / slope, 0.0), 1.0)


@njit(cache=True)
def leaves_chord(run: Points, first: int, last: int) -> float:
    """Return the farthest any point of a run lies from the straight line between its ends."""
    worst = 0.0
    for i in range(first + 1, last):
        worst = max(worst, square_from_segment(run[i, 0], run[i, 1], run[first], run[last]))
    return math.sqrt(worst)


@njit(cache=True)
def from_segment(x: float, y: float, a: Points, b: Points) -> float:
    """Return the distance of a point from the segment between two others."""
    return math.sqrt(square_from_segment(x, y, a, b))


@njit(cache=True)
def square_from_segment(x: float, y: float, a: Points, b: Points) -> float:
    """Return the squared distance of a point from the segment between two others."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    ax, ay = x - a[0], y - a[1]
    square = dx * dx + dy * dy
    t = 0.0
    if square > 0.0:
        t = min(max((ax * dx + ay * dy) / square, 0.0), 1.0)
    off_x, off_y = ax - t * dx, ay - t * dy
    return float(off_x * off_x + off_y * off_y)
