"""The cubic between two points of a run that misses the points between them least, in constant time.

A point at the share t of the way is to lie at
B(t) = P0 + b1 (P1 - P0) + b2 (P2 - P3) + (3 t^2 - 2 t^3) (P3 - P0), b1 = 3 t (1 - t)^2, b2 = 3 t^2 (1 - t).
All sums over the points that its least squares need are sums of powers of t, alone and times the points'
coordinates. Such sums grow by one point at a time, so they are kept for every end that a piece may have, as
lengths and offsets from where it begins.

Source: P. J. Schneider, "An algorithm for automatically fitting digitized curves", Graphics Gems, 1990.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Points = NDArray[np.float64]
Lengths = NDArray[np.float64]
Place = tuple[float, float]
Equations = tuple[float, float, float, float, float, float, float]

SUMS = 11  # of s^2 to s^6, of s x to s^3 x, of s y to s^3 y
PULL = 1e-3  # weight, in points, that draws handles to a third of the way: it decides where the points do not


@njit(cache=True)
def add_sums(run: Points, along: Lengths, first: int, known: int, last: int, sums: Points) -> int:
    """Make sums[i - first], over the points between the first one and i, known for i up to the last.

    Args:
        run: Points (n, 2).
        along: How far along the run each of them lies.
        first: Where the piece begins.
        known: Up to which point they are known.
        last: Up to which they shall be.
        sums: The sums (n, SUMS).

    Returns:
        Up to which point they are known now.
    """
    if known <= first:
        sums[1] = 0.0
        known = first + 1
    for i in range(known, last):
        before, after = sums[i - first], sums[i - first + 1]
        s = along[i] - along[first]
        x, y = run[i, 0] - run[first, 0], run[i, 1] - run[first, 1]
        s2 = s * s
        s3 = s2 * s
        after[0] = before[0] + s2
        after[1] = before[1] + s3
        after[2] = before[2] + s2 * s2
        after[3] = before[3] + s2 * s3
        after[4] = before[4] + s3 * s3
        after[5] = before[5] + s * x
        after[6] = before[6] + s2 * x
        after[7] = before[7] + s3 * x
        after[8] = before[8] + s * y
        after[9] = before[9] + s2 * y
        after[10] = before[10] + s3 * y
    return max(known, last)


@njit(cache=True)
def place_cubic(
    run: Points, along: Lengths, first: int, last: int, ends: Points, sums: Points, piece: Points
) -> None:
    """Place a piece (4, 2) between two points of a run.

    Args:
        run: Points (n, 2).
        along: How far along the run each of them lies.
        first: First point of the piece.
        last: Last point of the piece.
        ends: Direction at the start and, pointing back into the piece, at its end (2, 2);
            each of length 1, or 0 if free.
        sums: What add_sums made known (n, SUMS).
        piece: The piece, changed in place.
    """
    length = along[last] - along[first]
    dx, dy = run[last, 0] - run[first, 0], run[last, 1] - run[first, 1]
    ax, ay, bx, by = ends[0, 0], ends[0, 1], ends[1, 0], ends[1, 1]
    third = length / 3
    start = (dx / 3, dy / 3) if ax == 0.0 and ay == 0.0 else (ax * third, ay * third)
    end = (-dx / 3, -dy / 3) if bx == 0.0 and by == 0.0 else (bx * third, by * third)
    equations = _normal_equations(sums[last - first], 1.0 / length, dx, dy, start, end)
    px, py, qx, qy = _handles(equations, ax, ay, bx, by)
    px, py = (px, py) if _is_sound(px, py, start, length) else start
    qx, qy = (qx, qy) if _is_sound(qx, qy, end, length) else end
    piece[0, 0], piece[0, 1] = run[first, 0], run[first, 1]
    piece[1, 0], piece[1, 1] = run[first, 0] + px, run[first, 1] + py
    piece[2, 0], piece[2, 1] = run[last, 0] + qx, run[last, 1] + qy
    piece[3, 0], piece[3, 1] = run[last, 0], run[last, 1]


@njit(cache=True)
def _normal_equations(row: Lengths, r: float, dx: float, dy: float, start: Place, end: Place) -> Equations:
    """Return the matrix (11, 12, 22) and the right sides (1 x, 1 y, 2 x, 2 y) for the two handles."""
    r2 = r * r
    r3 = r2 * r
    t2, t3, t4, t5, t6 = row[0] * r2, row[1] * r3, row[2] * r2 * r2, row[3] * r2 * r3, row[4] * r3 * r3
    chord1, chord2 = 3 * (3 * t3 - 8 * t4 + 7 * t5 - 2 * t6), 3 * (3 * t4 - 5 * t5 + 2 * t6)
    return (
        9 * (t2 - 4 * t3 + 6 * t4 - 4 * t5 + t6) + PULL,
        9 * (t3 - 3 * t4 + 3 * t5 - t6),
        9 * (t4 - 2 * t5 + t6) + PULL,
        3 * (row[5] * r - 2 * row[6] * r2 + row[7] * r3) - dx * chord1 + PULL * start[0],
        3 * (row[8] * r - 2 * row[9] * r2 + row[10] * r3) - dy * chord1 + PULL * start[1],
        3 * (row[6] * r2 - row[7] * r3) - dx * chord2 + PULL * end[0],
        3 * (row[9] * r2 - row[10] * r3) - dy * chord2 + PULL * end[1],
    )


@njit(cache=True)
def _handles(
    equations: Equations, ax: float, ay: float, bx: float, by: float
) -> tuple[float, float, float, float]:
    """Return both handles: each along its direction, or anywhere if that is 0."""
    s11, s12, s22, r1x, r1y, r2x, r2y = equations
    is_a_free, is_b_free = ax == 0.0 and ay == 0.0, bx == 0.0 and by == 0.0
    if is_a_free and is_b_free:
        whole = s11 * s22 - s12 * s12
        px, py = (s22 * r1x - s12 * r2x) / whole, (s22 * r1y - s12 * r2y) / whole
        return px, py, (s11 * r2x - s12 * r1x) / whole, (s11 * r2y - s12 * r1y) / whole
    if is_b_free:
        share = s12 / s22
        a = (ax * (r1x - share * r2x) + ay * (r1y - share * r2y)) / (s11 - share * s12)
        return a * ax, a * ay, (r2x - s12 * a * ax) / s22, (r2y - s12 * a * ay) / s22
    if is_a_free:
        share = s12 / s11
        b = (bx * (r2x - share * r1x) + by * (r2y - share * r1y)) / (s22 - share * s12)
        return (r1x - s12 * b * bx) / s11, (r1y - s12 * b * by) / s11, b * bx, b * by
    c12, r1, r2 = s12 * (ax * bx + ay * by), ax * r1x + ay * r1y, bx * r2x + by * r2y
    whole = s11 * s22 - c12 * c12
    a, b = (s22 * r1 - c12 * r2) / whole, (s11 * r2 - c12 * r1) / whole
    return a * ax, a * ay, b * bx, b * by


@njit(cache=True)
def _is_sound(x: float, y: float, third: Place, length: float) -> bool:
    """Return whether a handle leads forward, and neither nowhere nor farther than the run is long."""
    square = x * x + y * y
    return x * third[0] + y * third[1] > 0.0 and 1e-12 * length * length < square < length * length
