"""One cubic piece and the points that it is to follow: placing it, and measuring how far it misses."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Points = NDArray[np.float64]
FREE = (0.0, 0.0)  # the direction of an end that may leave as it likes


@njit(cache=True)
def place_straight(run: Points, first: int, last: int, piece: Points) -> None:
    """Make the piece the straight line between two points, its inner control points at the thirds."""
    for k in range(4):
        piece[k] = run[first] + (run[last] - run[first]) * (k / 3)


@njit(cache=True)
def chord_parameters(run: Points, u: Points, first: int, last: int) -> float:
    """Set each point's parameter by its share of the polygon's length; return that length."""
    u[first] = 0.0
    for i in range(first + 1, last + 1):
        u[i] = u[i - 1] + math.hypot(run[i, 0] - run[i - 1, 0], run[i, 1] - run[i - 1, 1])
    length: float = u[last]
    for i in range(first + 1, last + 1):
        u[i] /= length
    return length


@njit(cache=True)
def place_least_squares(
    run: Points, u: Points, first: int, last: int, ends: Points, length: float, piece: Points
) -> None:
    """Place the inner control points so that the squared misses are least.

    Args:
        run: Points (n, 2).
        u: Parameter of each point on the piece.
        first: First point of the piece.
        last: Last point of the piece.
        ends: Direction at the start and, pointing back into the piece, at its end (2, 2): FREE, or length 1.
        length: Length of the polygon between the two points.
        piece: The piece (4, 2), changed in place.
    """
    basis, owner = _basis(ends)
    rows = _normal_equations(run, u, first, last, basis, owner)
    is_solved = _solve(rows, len(basis))
    piece[0] = run[first]
    piece[3] = run[last]
    for which in range(2):
        leg = np.zeros(2, np.float64)
        for k in range(len(basis)):
            if owner[k] == which and is_solved:
                leg += rows[k, 4] * basis[k]
        size = math.hypot(leg[0], leg[1])
        direction = ends[which]
        is_free = direction[0] == 0.0 and direction[1] == 0.0
        if is_free:
            direction = piece[3] - piece[0] if which == 0 else piece[0] - piece[3]
            direction = direction / max(math.hypot(direction[0], direction[1]), 1e-12)
        is_backward = not is_free and leg[0] * direction[0] + leg[1] * direction[1] <= 0.0
        if (
            is_backward or not 1e-6 * length < size < length
        ):  # no fit to trust: a third of the way, as Schneider
            leg = direction * (length / 3)
        piece[1 + which] = piece[3 * which] + leg


@njit(cache=True)
def _basis(ends: Points) -> tuple[Points, NDArray[np.int32]]:
    """Return the vectors along which the two control points may move, and whose each is."""
    basis = np.zeros((4, 2), np.float64)
    owner = np.zeros(4, np.int32)
    size = 0
    for which in range(2):
        if ends[which, 0] == 0.0 and ends[which, 1] == 0.0:
            basis[size, 0] = 1.0
            basis[size + 1, 1] = 1.0
            owner[size] = owner[size + 1] = which
            size += 2
        else:
            basis[size] = ends[which]
            owner[size] = which
            size += 1
    return basis[:size], owner[:size]


@njit(cache=True)
def _normal_equations(
    run: Points, u: Points, first: int, last: int, basis: Points, owner: NDArray[np.int32]
) -> Points:
    """Return the equations of least squares, the right side in column 4."""
    s11 = s12 = s22 = r1x = r1y = r2x = r2y = 0.0
    for i in range(first + 1, last):
        t = u[i]
        s = 1.0 - t
        b1, b2 = 3 * t * s * s, 3 * t * t * s
        from_start, from_end = s * s * s + b1, t * t * t + b2
        dx = run[i, 0] - from_start * run[first, 0] - from_end * run[last, 0]
        dy = run[i, 1] - from_start * run[first, 1] - from_end * run[last, 1]
        s11 += b1 * b1
        s12 += b1 * b2
        s22 += b2 * b2
        r1x += b1 * dx
        r1y += b1 * dy
        r2x += b2 * dx
        r2y += b2 * dy
    rows = np.zeros((4, 5), np.float64)
    for k in range(len(basis)):
        for m in range(len(basis)):
            weight = s12 if owner[k] != owner[m] else (s11 if owner[k] == 0 else s22)
            rows[k, m] = weight * (basis[k, 0] * basis[m, 0] + basis[k, 1] * basis[m, 1])
        rx, ry = (r1x, r1y) if owner[k] == 0 else (r2x, r2y)
        rows[k, 4] = basis[k, 0] * rx + basis[k, 1] * ry
    return rows


@njit(cache=True)
def _solve(rows: Points, size: int) -> bool:
    """Solve up to four linear equations in place, the right side in column 4; False if singular."""
    for k in range(size):
        best = k
        for m in range(k + 1, size):
            if abs(rows[m, k]) > abs(rows[best, k]):
                best = m
        if abs(rows[best, k]) < 1e-9:
            return False
        for column in range(5):
            rows[k, column], rows[best, column] = rows[best, column], rows[k, column]
        for m in range(size):
            if m != k:
                factor = rows[m, k] / rows[k, k]
                for column in range(k, 5):
                    rows[m, column] -= factor * rows[k, column]
    for k in range(size):
        rows[k, 4] /= rows[k, k]
    return True


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
def worst_miss(run: Points, u: Points, first: int, last: int, piece: Points) -> tuple[float, int]:
    """Return the largest distance of a point from the piece at its parameter, and that point."""
    worst = first + 1
    largest = 0.0
    for i in range(first + 1, last):
        x, y = point_at(piece, u[i])
        square = (x - run[i, 0]) ** 2 + (y - run[i, 1]) ** 2
        if square > largest:
            largest = square
            worst = i
    return math.sqrt(largest), worst


@njit(cache=True)
def keeps_between(run: Points, u: Points, first: int, last: int, piece: Points, tolerance: float) -> bool:
    """Return whether the piece also stays near the polygon between its points.

    The points alone cannot tell: a curve may loop or bulge from one to the next.
    """
    for i in range(first, last):
        if u[i + 1] < u[i]:
            return False
        for step in range(1, 4):
            x, y = point_at(piece, u[i] + (u[i + 1] - u[i]) * step / 4)
            nearest = 1e18
            for k in range(max(i - 1, first), min(i + 2, last)):
                nearest = min(nearest, from_segment(x, y, run[k], run[k + 1]))
            if nearest > tolerance:
                return False
    return True


@njit(cache=True)
def leaves_chord(run: Points, first: int, last: int) -> float:
    """Return the farthest any point of a run lies from the straight line between its ends."""
    worst = 0.0
    for i in range(first + 1, last):
        worst = max(worst, from_segment(run[i, 0], run[i, 1], run[first], run[last]))
    return worst


@njit(cache=True)
def from_segment(x: float, y: float, a: Points, b: Points) -> float:
    """Return the distance of a point from the segment between two others."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    t = 0.0
    if square > 0.0:
        t = min(max(((x - a[0]) * dx + (y - a[1]) * dy) / square, 0.0), 1.0)
    return math.hypot(x - a[0] - t * dx, y - a[1] - t * dy)


@njit(cache=True)
def improve_parameters(run: Points, u: Points, first: int, last: int, piece: Points) -> None:
    """Move every parameter towards the foot of its point on the piece, by Newton's rule."""
    a, b, c = piece[1] - piece[0], piece[2] - piece[1], piece[3] - piece[2]
    for i in range(first + 1, last):
        t = u[i]
        s = 1.0 - t
        x, y = point_at(piece, t)
        dx = 3 * (s * s * a[0] + 2 * s * t * b[0] + t * t * c[0])
        dy = 3 * (s * s * a[1] + 2 * s * t * b[1] + t * t * c[1])
        ddx = 6 * (s * (b[0] - a[0]) + t * (c[0] - b[0]))
        ddy = 6 * (s * (b[1] - a[1]) + t * (c[1] - b[1]))
        ex, ey = x - run[i, 0], y - run[i, 1]
        slope = dx * dx + dy * dy + ex * ddx + ey * ddy
        if slope > 1e-12:
            u[i] = min(max(t - (ex * dx + ey * dy) / slope, 0.0), 1.0)
