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
    for axis in range(2):
        start, end = run[first, axis], run[last, axis]
        piece[0, axis], piece[1, axis] = start, start + (end - start) / 3
        piece[2, axis], piece[3, axis] = start + (end - start) * 2 / 3, end


@njit(cache=True)
def is_free(ends: Points) -> bool:
    """Return whether both ends may leave as they like."""
    return bool(ends[0, 0] == 0.0 and ends[0, 1] == 0.0 and ends[1, 0] == 0.0 and ends[1, 1] == 0.0)


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
    run: Points, u: Points, first: int, last: int, ends: Points, length: float, piece: Points, work: Points
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
        work: Room for the equations (4, 8): coefficients, right side, and of each unknown
            the vector along which it moves a control point and which of the two that is.
    """
    size = _unknowns(ends, work)
    _normal_equations(run, u, first, last, size, work)
    is_solved = _solve(work, size)
    for which in range(2):
        x = y = 0.0
        for k in range(size):
            if work[k, 7] == which and is_solved:
                x += work[k, 4] * work[k, 5]
                y += work[k, 4] * work[k, 6]
        tx, ty = ends[which, 0], ends[which, 1]
        is_backward = x * tx + y * ty < 0.0
        if tx == 0.0 and ty == 0.0:
            sign = 1 - 2 * which
            tx, ty = sign * (run[last, 0] - run[first, 0]), sign * (run[last, 1] - run[first, 1])
            chord = max(math.hypot(tx, ty), 1e-12)
            tx, ty = tx / chord, ty / chord
        if is_backward or not 1e-6 * length < math.hypot(x, y) < length:
            x, y = tx * length / 3, ty * length / 3  # no fit to trust: a third of the way, as Schneider
        end = first if which == 0 else last
        piece[3 * which, 0], piece[3 * which, 1] = run[end, 0], run[end, 1]
        piece[1 + which, 0], piece[1 + which, 1] = run[end, 0] + x, run[end, 1] + y


@njit(cache=True)
def _unknowns(ends: Points, work: Points) -> int:
    """Write down how the two control points may move: one way each if held, two if free; return how many."""
    size = 0
    for which in range(2):
        if ends[which, 0] == 0.0 and ends[which, 1] == 0.0:
            work[size, 5], work[size, 6], work[size, 7] = 1.0, 0.0, which
            work[size + 1, 5], work[size + 1, 6], work[size + 1, 7] = 0.0, 1.0, which
            size += 2
        else:
            work[size, 5], work[size, 6], work[size, 7] = ends[which, 0], ends[which, 1], which
            size += 1
    return size


@njit(cache=True)
def _normal_equations(run: Points, u: Points, first: int, last: int, size: int, work: Points) -> None:
    """Write down the equations of least squares."""
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
    for k in range(size):
        for m in range(size):
            weight = s12 if work[k, 7] != work[m, 7] else (s11 if work[k, 7] == 0 else s22)
            work[k, m] = weight * (work[k, 5] * work[m, 5] + work[k, 6] * work[m, 6])
        rx, ry = (r1x, r1y) if work[k, 7] == 0 else (r2x, r2y)
        work[k, 4] = work[k, 5] * rx + work[k, 6] * ry


@njit(cache=True)
def _solve(work: Points, size: int) -> bool:
    """Solve up to four linear equations in place, the right side in column 4; False if singular.

    Normal equations are symmetric and positive, so no pivoting is needed.
    """
    for k in range(size):
        if work[k, k] < 1e-9:
            return False
        for m in range(size):
            if m != k:
                factor = work[m, k] / work[k, k]
                for column in range(k, 5):
                    work[m, column] -= factor * work[k, column]
    for k in range(size):
        work[k, 4] /= work[k, k]
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
def worst_miss(run: Points, u: Points, first: int, last: int, piece: Points) -> float:
    """Return the largest distance of a point from the piece at its parameter."""
    largest = 0.0
    for i in range(first + 1, last):
        x, y = point_at(piece, u[i])
        largest = max(largest, (x - run[i, 0]) ** 2 + (y - run[i, 1]) ** 2)
    return math.sqrt(largest)


@njit(cache=True)
def keeps_between(run: Points, u: Points, first: int, last: int, piece: Points, tolerance: float) -> bool:
    """Return whether the piece also stays near the polygon between its points.

    The points alone cannot tell: a curve may loop or bulge from one to the next.
    """
    square = tolerance * tolerance
    for i in range(first, last):
        if u[i + 1] < u[i]:
            return False
        for step in range(1, 4):
            x, y = point_at(piece, u[i] + (u[i + 1] - u[i]) * step / 4)
            if square_from_segment(x, y, run[i], run[i + 1]) <= square:
                continue
            is_near = i > first and square_from_segment(x, y, run[i - 1], run[i]) <= square
            is_near = is_near or (
                i + 1 < last and square_from_segment(x, y, run[i + 1], run[i + 2]) <= square
            )
            if not is_near:
                return False
    return True


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


@njit(cache=True)
def improve_parameters(run: Points, u: Points, first: int, last: int, piece: Points) -> None:
    """Move every parameter towards the foot of its point on the piece, by Newton's rule."""
    ax, ay = piece[1, 0] - piece[0, 0], piece[1, 1] - piece[0, 1]
    bx, by = piece[2, 0] - piece[1, 0], piece[2, 1] - piece[1, 1]
    cx, cy = piece[3, 0] - piece[2, 0], piece[3, 1] - piece[2, 1]
    for i in range(first + 1, last):
        t = u[i]
        s = 1.0 - t
        x, y = point_at(piece, t)
        dx = 3 * (s * s * ax + 2 * s * t * bx + t * t * cx)
        dy = 3 * (s * s * ay + 2 * s * t * by + t * t * cy)
        ddx = 6 * (s * (bx - ax) + t * (cx - bx))
        ddy = 6 * (s * (by - ay) + t * (cy - by))
        ex, ey = x - run[i, 0], y - run[i, 1]
        slope = dx * dx + dy * dy + ex * ddx + ey * ddy
        if slope > 1e-12:
            u[i] = min(max(t - (ex * dx + ey * dy) / slope, 0.0), 1.0)
