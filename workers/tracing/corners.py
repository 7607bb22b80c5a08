"""Sharp corners of the ink's edge, rebuilt from the straight runs beside them.

Pixels round every corner off: the half-way level cuts it by about half the blur
of the picture. The sides are undisturbed a few points away, so the corner is
where the least-squares lines through them meet.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Points = NDArray[np.float64]
Indices = NDArray[np.int32]

SPAN_POINTS = 10  # a side's line goes through so many points
SKIPPED_POINTS = 2  # of a side, next to the corner, where the pixels round it off
REACH_POINTS = 4  # a turn is first looked for between chords so long
LEAST_POINTS = 3  # a line through fewer says nothing
LEAST_TURN_RAD = math.radians(20)  # shallower ones survive the curve fit unaided
LARGEST_BEND = (
    0.35  # share of the whole turn that may lie within the sides: a curve bends evenly, a corner at once
)
LARGEST_RESIDUAL_PX = 0.35
CUT_PER_BLUR = 0.77  # of a right angle, by a Gaussian of sigma 1: Phi(x)^2 = 1/2 at x = 0.545, times sqrt 2


def sharp_corners(points: Points, starts: Indices, blur_px: float) -> tuple[Indices, Points]:
    """Return the points that stand at sharp corners, and where those corners really are.

    A corner is taken for sharp if its two sides are straight up to it, and if the
    edge passes it no farther away than the picture's blur explains. Rounder ones
    are left to the curve fit.

    Args:
        points: Points of closed loops (n, 2), px.
        starts: Where each loop starts, and the end of the last (m + 1).
        blur_px: Standard deviation of the picture's blur, px.

    Returns:
        Indices into ``points``, rising (k), and places (k, 2), px.
    """
    found, places = _corners(points, starts, blur_px)
    return found, places


@njit(cache=True)
def _corners(points: Points, starts: Indices, blur_px: float) -> tuple[Indices, Points]:
    found = np.empty(len(points), np.int32)
    places = np.empty((len(points), 2), np.float64)
    count = 0
    for loop in range(len(starts) - 1):
        ring = points[starts[loop] : starts[loop + 1]]
        if len(ring) < 4 * LEAST_POINTS:
            continue
        candidates = _candidates(ring)
        for k in range(len(candidates)):
            gap_before = (candidates[k] - candidates[k - 1]) % len(ring) if len(candidates) > 1 else len(ring)
            gap_after = (candidates[(k + 1) % len(candidates)] - candidates[k]) % len(ring)
            if len(candidates) == 1:
                gap_after = len(ring)
            is_sharp, x, y = _rebuilt(ring, candidates[k], gap_before, gap_after, blur_px)
            if is_sharp:
                found[count] = starts[loop] + candidates[k]
                places[count, 0] = x
                places[count, 1] = y
                count += 1
    return found[:count].copy(), places[:count].copy()


@njit(cache=True)
def _turn(ax: float, ay: float, bx: float, by: float) -> float:
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


@njit(cache=True)
def _candidates(ring: Points) -> Indices:
    """Return the points where the loop turns most, each alone within its reach."""
    n = len(ring)
    reach = min(REACH_POINTS, n // 4)
    turns = np.empty(n, np.float64)
    for i in range(n):
        a, b, c = ring[i - reach], ring[i], ring[(i + reach) % n]
        turns[i] = abs(_turn(b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]))
    kept = np.empty(n, np.int32)
    count = 0
    for i in range(n):
        if turns[i] < LEAST_TURN_RAD:
            continue
        is_peak = True
        for step in range(1, reach):
            if turns[i - step] >= turns[i] or turns[(i + step) % n] > turns[i]:
                is_peak = False
                break
        if is_peak:
            kept[count] = i
            count += 1
    return kept[:count].copy()


@njit(cache=True)
def _side(ring: Points, at: int, way: int, length: int) -> tuple[float, float, float, float, float, float]:
    """Fit a line to a side of a corner, leaving it.

    Returns its centre, its direction away from the corner, the worst residual, and how far it bends.
    """
    n = len(ring)
    cx = cy = 0.0
    for k in range(length):
        point = ring[(at + way * (SKIPPED_POINTS + k)) % n]
        cx += point[0]
        cy += point[1]
    cx /= length
    cy /= length
    sxx = sxy = syy = 0.0
    for k in range(length):
        point = ring[(at + way * (SKIPPED_POINTS + k)) % n]
        dx, dy = point[0] - cx, point[1] - cy
        sxx += dx * dx
        sxy += dx * dy
        syy += dy * dy
    angle = 0.5 * math.atan2(2 * sxy, sxx - syy)
    ux, uy = math.cos(angle), math.sin(angle)
    near = ring[(at + way * SKIPPED_POINTS) % n]
    far = ring[(at + way * (SKIPPED_POINTS + length - 1)) % n]
    if (far[0] - near[0]) * ux + (far[1] - near[1]) * uy < 0:
        ux, uy = -ux, -uy
    worst = 0.0
    for k in range(length):
        point = ring[(at + way * (SKIPPED_POINTS + k)) % n]
        worst = max(worst, abs((point[0] - cx) * uy - (point[1] - cy) * ux))
    middle = ring[(at + way * (SKIPPED_POINTS + length // 2)) % n]
    bend = abs(_turn(middle[0] - near[0], middle[1] - near[1], far[0] - middle[0], far[1] - middle[1]))
    return cx, cy, ux, uy, worst, bend


@njit(cache=True)
def _rebuilt(
    ring: Points, at: int, gap_before: int, gap_after: int, blur_px: float
) -> tuple[bool, float, float]:
    """Return whether the loop has a sharp corner here, and its place."""
    n = len(ring)
    before = min(SPAN_POINTS, gap_before - 2 * SKIPPED_POINTS + 1, n // 2 - SKIPPED_POINTS)
    after = min(SPAN_POINTS, gap_after - 2 * SKIPPED_POINTS + 1, n // 2 - SKIPPED_POINTS)
    if before < LEAST_POINTS or after < LEAST_POINTS:
        return False, 0.0, 0.0
    ax, ay, ux, uy, a_worst, a_bend = _side(ring, at, -1, before)
    bx, by, vx, vy, b_worst, b_bend = _side(ring, at, 1, after)
    turn = abs(_turn(-ux, -uy, vx, vy))
    if turn < LEAST_TURN_RAD or max(a_worst, b_worst) > LARGEST_RESIDUAL_PX:
        return False, 0.0, 0.0
    if a_bend + b_bend > LARGEST_BEND * turn:
        return False, 0.0, 0.0
    cross = ux * vy - uy * vx
    if abs(cross) < 0.05:  # a spike so thin that its sides hardly meet
        return False, 0.0, 0.0
    along = ((bx - ax) * vy - (by - ay) * vx) / cross
    x, y = ax + along * ux, ay + along * uy
    cut = 1e9
    for step in range(-SKIPPED_POINTS, SKIPPED_POINTS + 1):
        point = ring[(at + step) % n]
        cut = min(cut, math.hypot(point[0] - x, point[1] - y))
    explained = 0.25 + 1.5 * CUT_PER_BLUR * blur_px * math.tan(min(turn, 3.0) / 2)
    return cut <= explained, x, y
