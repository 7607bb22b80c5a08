"""Sharp corners of the ink's edge, rebuilt from the runs of points beside them.

Pixels round every corner off: the half-way level cuts it by about half the blur
of the picture. The sides are undisturbed a few points away, so the corner is
where they meet when they are carried on: as the least-squares lines through them,
or as parabolas where they are clearly curved.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.cubic import from_segment

Points = NDArray[np.float64]
Indices = NDArray[np.int32]
Side = tuple[float, float, float, float, float, float, float, float]

SPAN_POINTS = 10  # a side is fitted to so many points
SKIPPED_PER_BLUR = 2.2  # points of a side, next to the corner, where it is rounded off; no fewer than two
LEAST_POINTS = 3  # a line through fewer says nothing
CURVED_POINTS = 6  # nor a parabola
CLEARLY_CURVED = 0.5  # share of the squared residuals of a line that a parabola must do away with
AT_ONCE = 0.65  # share of a turn that lies within half the reach: an even curve has 0.5
LEAST_TURN_RAD = math.radians(20)  # shallower ones survive the curve fit unaided
LEAST_TURN_TANGENT = math.tan(LEAST_TURN_RAD)
LARGEST_BEND = 0.35  # share of the turn that may lie within the sides: a curve bends evenly, a corner at once
LARGEST_BEND_CURVED = 0.5  # of sides that are carried on as parabolas; a circle has 0.73
LARGEST_RESIDUAL_PX = 0.35
CUT_PER_BLUR = 0.77  # of a right angle, by a Gaussian of sigma 1: Phi(x)^2 = 1/2 at x = 0.545, times sqrt 2
LARGEST_BLUR_PX = 1.0  # what is blurred more may as well have been drawn round
LARGEST_CUT_PX = 4.0  # beyond, two sides of a thin stroke nearly alike in direction would meet in a thorn
NEWTON_ROUNDS = 10
NO_CORNER = (False, 0.0, 0.0)


def skipped_points(blur_px: float) -> int:
    """Return how many points to either side of a corner the blur has rounded off."""
    return max(2, math.ceil(SKIPPED_PER_BLUR * blur_px))


def sharp_corners(points: Points, starts: Indices, blur_px: float) -> tuple[Indices, Points]:
    """Return the points that stand at sharp corners, and where those corners really are.

    A corner is taken for sharp if its two sides run evenly up to it, and if the
    edge passes it no farther away than the picture's blur explains. Rounder ones
    are left to the curve fit.

    Args:
        points: Points of closed loops (n, 2), px.
        starts: Where each loop starts, and the end of the last (m + 1).
        blur_px: Standard deviation of the picture's blur, px.

    Returns:
        Indices into ``points``, rising (k), and places (k, 2), px.
    """
    found, places = _corners(points, starts, blur_px, skipped_points(blur_px))
    return found, places


@njit(cache=True)
def _corners(points: Points, starts: Indices, blur_px: float, skipped: int) -> tuple[Indices, Points]:
    most = len(points) // LEAST_POINTS
    found = np.empty(most, np.int32)
    places = np.empty((most, 2), np.float64)
    count = 0
    for loop in range(len(starts) - 1):
        ring = points[starts[loop] : starts[loop + 1]]
        n = len(ring)
        if n < 4 * LEAST_POINTS:
            continue
        candidates = _candidates(ring, skipped)
        for k in range(len(candidates)):
            gap_before = (candidates[k] - candidates[k - 1] - 1) % n + 1  # all round, if it is the only one
            gap_after = (candidates[(k + 1) % len(candidates)] - candidates[k] - 1) % n + 1
            at = int(candidates[k])
            is_sharp, x, y = _rebuilt(ring, at, gap_before, gap_after, blur_px, skipped)
            step = _nearest_step(ring, at, x, y, skipped)
            if is_sharp and step != 0:  # once more, from the point that stands where the corner is
                at = (at + step) % n
                is_sharp, x, y = _rebuilt(ring, at, gap_before + step, gap_after - step, blur_px, skipped)
            if is_sharp and abs(_nearest_step(ring, at, x, y, skipped)) <= 1:
                found[count] = starts[loop] + at
                places[count, 0], places[count, 1] = x, y
                count += 1
    return found[:count].copy(), places[:count].copy()


@njit(cache=True)
def _turn(ax: float, ay: float, bx: float, by: float) -> float:
    """Return the angle from one direction to another, -pi to pi."""
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


@njit(cache=True)
def _turn_at(ring: Points, at: int, reach: int) -> float:
    """Return how far the loop turns at a point, between chords of so many points."""
    n = len(ring)
    a, b, c = ring[(at - reach) % n], ring[at % n], ring[(at + reach) % n]
    return abs(_turn(b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]))


@njit(cache=True)
def _turns(ring: Points, reach: int) -> Points:
    """Return how far the loop turns at every point where that is enough for a corner, elsewhere 0."""
    n = len(ring)
    turns = np.zeros(n, np.float64)
    for i in range(n):
        before, after = i - reach, i + reach
        before, after = before + n * (before < 0), after - n * (after >= n)
        ax, ay = ring[i, 0] - ring[before, 0], ring[i, 1] - ring[before, 1]
        bx, by = ring[after, 0] - ring[i, 0], ring[after, 1] - ring[i, 1]
        if abs(ax * by - ay * bx) >= LEAST_TURN_TANGENT * (ax * bx + ay * by):
            turn = abs(_turn(ax, ay, bx, by))
            turns[i] = turn if turn >= LEAST_TURN_RAD else 0.0
    return turns


@njit(cache=True)
def _candidates(ring: Points, skipped: int) -> Indices:
    """Return the points where the loop turns most and at once, each alone within its reach."""
    n = len(ring)
    reach = min(2 * skipped, n // 4)
    near = max(reach // 2, 1)
    turns = _turns(ring, reach)
    kept = np.empty(n // reach + 1, np.int32)
    count = 0
    for i in range(n):
        is_peak = turns[i] > 0.0
        for step in range(1, reach):
            if not is_peak:
                break
            is_peak = turns[i - step] < turns[i] and turns[(i + step) % n] <= turns[i]
        if is_peak:
            at_once = max([_turn_at(ring, k, near) for k in (i - 1, i, i + 1)])
            if at_once >= AT_ONCE * turns[i]:
                kept[count] = i
                count += 1
    return kept[:count].copy()


@njit(cache=True)
def _side(ring: Points, at: int, way: int, length: int, skipped: int) -> Side:
    """Fit a line or a parabola to a side of a corner.

    Returns its middle, its direction away from the corner, the coefficients of how far it lies off that
    direction at s from the middle (a + b s + c s^2, all 0 for a line), and the worst residual.
    """
    n = len(ring)
    mx = my = 0.0
    for k in range(length):
        point = ring[(at + way * (skipped + k)) % n]
        mx += point[0] / length
        my += point[1] / length
    sxx = sxy = syy = 0.0
    for k in range(length):
        point = ring[(at + way * (skipped + k)) % n]
        dx, dy = point[0] - mx, point[1] - my
        sxx += dx * dx
        sxy += dx * dy
        syy += dy * dy
    angle = 0.5 * math.atan2(2 * sxy, sxx - syy)
    ux, uy = math.cos(angle), math.sin(angle)
    near = ring[(at + way * skipped) % n]
    if (near[0] - mx) * ux + (near[1] - my) * uy > 0:
        ux, uy = -ux, -uy
    s2 = s3 = s4 = o2 = oo = 0.0
    for k in range(length):
        point = ring[(at + way * (skipped + k)) % n]
        s = (point[0] - mx) * ux + (point[1] - my) * uy
        off = (point[1] - my) * ux - (point[0] - mx) * uy
        s2 += s * s
        s3 += s**3
        s4 += s**4
        o2 += s * s * off
        oo += off * off
    a = b = c = 0.0
    spread = s4 - s3 * s3 / max(s2, 1e-12) - s2 * s2 / length  # of s^2, once its mean and slope are taken out
    if length >= CURVED_POINTS and spread > 1e-9 and o2 * o2 / spread > CLEARLY_CURVED * oo:
        c = o2 / spread
        b = -c * s3 / s2
        a = -c * s2 / length
    worst = 0.0
    for k in range(length):
        point = ring[(at + way * (skipped + k)) % n]
        s = (point[0] - mx) * ux + (point[1] - my) * uy
        worst = max(worst, abs((point[1] - my) * ux - (point[0] - mx) * uy - a - b * s - c * s * s))
    return mx, my, ux, uy, a, b, c, worst


@njit(cache=True)
def _on_side(side: Side, s: float) -> tuple[float, float, float, float]:
    """Return the point of a side at s from its middle, and its direction there."""
    mx, my, ux, uy, a, b, c, _ = side
    off, lean = a + b * s + c * s * s, b + 2 * c * s
    return mx + s * ux - off * uy, my + s * uy + off * ux, ux - lean * uy, uy + lean * ux


@njit(cache=True)
def _meeting(one: Side, other: Side) -> tuple[bool, float, float, float]:
    """Return whether two sides meet, where, and how far the edge turns there."""
    s = t = 0.0
    for _ in range(NEWTON_ROUNDS):  # lines meet after one
        x, y, ax, ay = _on_side(one, s)
        bx, by, cx, cy = _on_side(other, t)
        if math.hypot(bx - x, by - y) < 1e-6:
            return True, x, y, abs(_turn(-ax, -ay, cx, cy))
        cross = ax * cy - ay * cx
        if abs(cross) < 0.05:  # they hardly meet
            break
        s += ((bx - x) * cy - (by - y) * cx) / cross
        t += ((bx - x) * ay - (by - y) * ax) / cross
    return False, 0.0, 0.0, 0.0


@njit(cache=True)
def _rebuilt(
    ring: Points, at: int, gap_before: int, gap_after: int, blur_px: float, skipped: int
) -> tuple[bool, float, float]:
    """Return whether the loop has a sharp corner here, and its place."""
    n = len(ring)
    before = min(SPAN_POINTS, gap_before - 2 * skipped + 1, n // 2 - skipped)
    after = min(SPAN_POINTS, gap_after - 2 * skipped + 1, n // 2 - skipped)
    if before < LEAST_POINTS or after < LEAST_POINTS:
        return NO_CORNER
    one, other = _side(ring, at, -1, before, skipped), _side(ring, at, 1, after, skipped)
    if max(one[7], other[7]) > LARGEST_RESIDUAL_PX:
        return NO_CORNER
    do_meet, x, y, turn = _meeting(one, other)
    if not do_meet or turn < LEAST_TURN_RAD:
        return NO_CORNER
    bend = _bend(ring, at, -1, before, skipped) + _bend(ring, at, 1, after, skipped)
    is_curved = one[6] != 0.0 or other[6] != 0.0
    if bend > (LARGEST_BEND_CURVED if is_curved else LARGEST_BEND) * turn:
        return NO_CORNER
    explained = 0.25 + 1.5 * CUT_PER_BLUR * min(blur_px, LARGEST_BLUR_PX) * math.tan(min(turn, 3.0) / 2)
    return _passes(ring, at, x, y, skipped) <= min(explained, LARGEST_CUT_PX), x, y


@njit(cache=True)
def _passes(ring: Points, at: int, x: float, y: float, skipped: int) -> float:
    """Return at what distance the loop passes a place near one of its points."""
    n = len(ring)
    nearest = math.inf
    for step in range(-skipped, skipped):
        nearest = min(nearest, from_segment(x, y, ring[(at + step) % n], ring[(at + step + 1) % n]))
    return nearest


@njit(cache=True)
def _nearest_step(ring: Points, at: int, x: float, y: float, skipped: int) -> int:
    """Return how many points on from one of its points the loop comes nearest to a place."""
    n = len(ring)
    best = 0
    nearest = math.hypot(ring[at, 0] - x, ring[at, 1] - y)
    for step in range(-skipped, skipped + 1):
        point = ring[(at + step) % n]
        distance = math.hypot(point[0] - x, point[1] - y)
        if distance < nearest:
            nearest, best = distance, step
    return best


@njit(cache=True)
def _bend(ring: Points, at: int, way: int, length: int, skipped: int) -> float:
    """Return how far a side turns between its two halves."""
    n = len(ring)
    near = ring[(at + way * skipped) % n]
    middle = ring[(at + way * (skipped + length // 2)) % n]
    far = ring[(at + way * (skipped + length - 1)) % n]
    return abs(_turn(middle[0] - near[0], middle[1] - near[1], far[0] - middle[0], far[1] - middle[1]))
