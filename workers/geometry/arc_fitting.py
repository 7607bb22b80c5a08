"""Arcs for runs of short straight pieces, within a stated deviation; a run may rise evenly on its way.

An arc is given by its two end points and by how far it turns, so its centre always lies as far
from the one as from the other, however the end points are rounded afterwards.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int32]

_FEWEST_PIECES = 3  # an arc for fewer saves nothing
_LEAST_CHORD_MM = 0.1  # shorter ones are all rounding
_LEAST_RADIUS_MM = 0.2
_LARGEST_RADIUS_MM = 500.0  # flatter ones are lines
_LARGEST_TURN_RAD = math.radians(175.0)  # up to half a circle a line (trade.md G-60)


def fitted_arcs(
    points_mm: Floats, groups: Integers, tolerance_mm: float, sagitta_mm: float
) -> tuple[Integers, Floats]:
    """Return arcs that may be run instead of the pieces between two points of a path.

    Args:
        points_mm: (n, 3) the path.
        groups: (n - 1,) a number for each piece; only pieces of the same number share an arc.
        tolerance_mm: No point is farther than this from the arc, sideways or in height.
        sagitta_mm: No piece's middle is farther than this from the arc: so real corners stay.

    Returns:
        (m, 2) rows at which arcs begin and end, in order and without overlap; and (m,) how far
        each turns in the plane, radians, positive anticlockwise.

    Source: the inscribed angle over a chord is the same all along an arc (Euclid III, 21);
    tests/workers/geometry/test_arc_fitting.py.
    """
    if len(points_mm) <= _FEWEST_PIECES:
        return np.empty((0, 2), np.int32), np.empty(0)
    return _fitted(np.ascontiguousarray(points_mm, np.float64), groups, tolerance_mm, sagitta_mm)


def centre_of(start_mm: Floats, end_mm: Floats, turn_rad: Floats) -> Floats:
    """Return the centres (m, 2) of arcs from starts (m, 2) to ends (m, 2).

    >>> centre_of(np.array([[1.0, 0.0]]), np.array([[0.0, 1.0]]), np.array([math.pi / 2])).round(12) + 0.0
    array([[0., 0.]])
    """
    chord_mm = end_mm - start_mm
    away = 0.5 / np.tan(np.asarray(turn_rad) / 2)
    return np.asarray(
        (start_mm + end_mm) / 2 + np.column_stack([-chord_mm[:, 1] * away, chord_mm[:, 0] * away])
    )


@njit(cache=True)
def _fitted(
    points_mm: Floats, groups: Integers, tolerance_mm: float, sagitta_mm: float
) -> tuple[Integers, Floats]:
    last_row = len(points_mm) - 1
    rows = np.empty((last_row // _FEWEST_PIECES + 1, 2), np.int32)
    turns = np.empty(len(rows))
    count, first = 0, 0
    while first + _FEWEST_PIECES <= last_row:
        stop = first + 1
        while stop < last_row and groups[stop] == groups[first]:
            stop += 1
        last, turn = _longest(points_mm, first, stop, tolerance_mm, sagitta_mm)
        if last:
            rows[count, 0], rows[count, 1], turns[count] = first, last, turn
            count += 1
            first = last
        else:
            first += 1
    return rows[:count], turns[:count]


@njit(cache=True)
def _longest(
    points_mm: Floats, first: int, stop: int, tolerance_mm: float, sagitta_mm: float
) -> tuple[int, float]:
    """Return the last row of about the longest arc from a row on, no later than ``stop``; 0 for none."""
    best, best_turn = 0, 0.0
    step = _FEWEST_PIECES
    growing = True
    while step:
        last = (best if best else first) + step
        turn = _turn(points_mm, first, last, tolerance_mm, sagitta_mm) if last <= stop else 0.0
        if turn != 0.0:
            best, best_turn = last, turn
            step = 2 * step if growing else max(step // 2, 1)
        elif not best:
            return 0, 0.0
        else:
            growing = False
            step //= 2
    return best, best_turn


@njit(cache=True)
def _turn(points_mm: Floats, first: int, last: int, tolerance_mm: float, sagitta_mm: float) -> float:
    """Return how far the one arc through two rows turns that fits the points between; 0 if none does."""
    x_mm, y_mm = points_mm[first, 0], points_mm[first, 1]
    chord_x, chord_y = points_mm[last, 0] - x_mm, points_mm[last, 1] - y_mm
    chord_mm = math.hypot(chord_x, chord_y)
    if chord_mm < _LEAST_CHORD_MM:
        return 0.0
    # each point between sees the chord under pi less half the turn; the far ones know best
    turn, weight = 0.0, 0.0
    for row in range(first + 1, last):
        off_x, off_y = points_mm[row, 0] - x_mm, points_mm[row, 1] - y_mm
        on_x, on_y = points_mm[last, 0] - points_mm[row, 0], points_mm[last, 1] - points_mm[row, 1]
        far = min(off_x * off_x + off_y * off_y, on_x * on_x + on_y * on_y)
        half = math.atan2(off_x * on_y - off_y * on_x, off_x * on_x + off_y * on_y)
        turn += 2 * half * far
        weight += far
    if weight == 0.0:
        return 0.0
    turn /= weight
    if not 0.0 < abs(turn) <= _LARGEST_TURN_RAD:
        return 0.0
    radius_mm = chord_mm / (2 * math.sin(abs(turn) / 2))
    if not _LEAST_RADIUS_MM <= radius_mm <= _LARGEST_RADIUS_MM:
        return 0.0
    away = 0.5 / math.tan(turn / 2)
    centre_x = x_mm + chord_x / 2 - chord_y * away
    centre_y = y_mm + chord_y / 2 + chord_x * away
    return (
        turn
        if _fits(points_mm, first, last, tolerance_mm, sagitta_mm, centre_x, centre_y, radius_mm, turn)
        else 0.0
    )


@njit(cache=True)
def _fits(
    points_mm: Floats, first: int, last: int, tolerance_mm: float, sagitta_mm: float,
    centre_x: float, centre_y: float, radius_mm: float, turn: float,
) -> bool:  # fmt: skip
    """Return whether the points and the middles of the pieces lie near enough to an arc, in order."""
    rise_mm = points_mm[last, 2] - points_mm[first, 2]
    here = 0.0  # the turn so far
    for row in range(first + 1, last + 1):
        was_x, was_y = points_mm[row - 1, 0] - centre_x, points_mm[row - 1, 1] - centre_y
        now_x, now_y = points_mm[row, 0] - centre_x, points_mm[row, 1] - centre_y
        middle_mm = math.hypot((was_x + now_x) / 2, (was_y + now_y) / 2)
        if (
            abs(middle_mm - radius_mm) > sagitta_mm
            or abs(math.hypot(now_x, now_y) - radius_mm) > tolerance_mm
        ):
            return False
        step = math.atan2(was_x * now_y - was_y * now_x, was_x * now_x + was_y * now_y)
        if step * turn <= 0.0:
            return False
        here += step
        if abs(points_mm[row, 2] - points_mm[first, 2] - rise_mm * here / turn) > tolerance_mm:
            return False
    return abs(here - turn) < 1e-6
