"""Cubic curves through the points of an edge, as few as the tolerance allows.

After Schneider (Graphics Gems, 1990): fit one cubic between the ends of a run of
points by least squares; if a point is too far, move the parameters by Newton's
rule and fit again; if that does not help, split at the worst point. Pieces join
with a common tangent except at corners.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.cubic import (
    chord_parameters,
    improve_parameters,
    is_free,
    keeps_between,
    leaves_chord,
    place_least_squares,
    place_straight,
    point_at,
    worst_miss,
)
from workers.tracing.straights import SLACK_PX, line_through, set_on_line, straight_stretches

Points = NDArray[np.float64]
Indices = NDArray[np.int32]

NEWTON_ROUNDS = 6
WORTH_ANOTHER_ROUND = (
    4.0  # how many times the tolerance a fit may miss by and still be worth moving parameters
)
WORTH_POLISHING = 0.95  # share of the last miss down to which one more round has helped
NEARLY_THERE = 1.5  # times the tolerance: a fit so near is given all rounds
STILL_FALLING = (
    0.95  # share of the last miss; another fit that stays above it will not come within the tolerance
)
NEARLY = 0.5  # share of the worst miss
TANGENT_REACH = 4  # points to either side from which the direction at a joint is taken


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """Cubic pieces of closed loops: ``controls`` (n, 4, 2) in px; loop i is starts[i]:starts[i + 1]."""

    controls: Points
    starts: Indices


def fit_loops(
    points: Points, starts: Indices, corners: Indices, places: Points, skipped: int, tolerance_px: float
) -> Pieces:
    """Return cubic pieces along closed loops, none farther from the points' polygon than the tolerance.

    Args:
        points: Points of closed loops (n, 2), px.
        starts: Where each loop starts, and the end of the last (m + 1).
        corners: Indices of points at sharp corners, rising (k).
        places: Where those corners really are (k, 2), px.
        skipped: How many points to either side of a corner give way to it.
        tolerance_px: Permitted distance, px; 0 for the polygon itself.

    Source: P. J. Schneider, "An algorithm for automatically fitting digitized curves", Graphics Gems, 1990.
    """
    controls, piece_starts = _fit(points, starts, corners, places, skipped, tolerance_px)
    return Pieces(controls, piece_starts)


@njit(cache=True)
def _fit(
    points: Points, starts: Indices, corners: Indices, places: Points, skipped: int, tolerance: float
) -> tuple[Points, Indices]:
    """Fit every loop: all round if it has no corner, else from corner to corner."""
    controls = np.empty((len(points) + 2 * len(corners) + len(starts), 4, 2), np.float64)
    piece_starts = np.zeros(len(starts), np.int32)
    longest = 3 + (starts[1:] - starts[:-1]).max()
    run = np.empty((longest, 2), np.float64)
    u = np.empty(longest, np.float64)
    ends = np.zeros((2, 2), np.float64)
    work = np.zeros((4, 8), np.float64)
    count = int(piece_starts[0])  # no literal: each would be compiled for apart
    corner = 0
    for loop in range(len(starts) - 1):
        ring = points[starts[loop] : starts[loop + 1]]
        first = corner
        while corner < len(corners) and corners[corner] < starts[loop + 1]:
            corner += 1
        if corner == first:
            length = _closed_run(ring, run)
            _closing_direction(run, length, ends)
            count = _fit_run(run, u, length, ends, tolerance, controls, count, work)
        for k in range(first, corner):
            following = k + 1 if k + 1 < corner else first
            length = _open_run(
                ring, corners[k] - starts[loop], corners[following] - starts[loop], skipped, run
            )
            run[0] = places[k]
            run[length - 1] = places[following]
            ends[:] = 0.0
            count = _fit_run(run, u, length, ends, tolerance, controls, count, work)
        piece_starts[loop + 1] = count
    return controls[:count].copy(), piece_starts


@njit(cache=True)
def _closed_run(ring: Points, run: Points) -> int:
    """Copy a loop without corners, from the point farthest from its middle and back to it."""
    n = len(ring)
    x, y = ring[:, 0].mean(), ring[:, 1].mean()
    first = 0
    farthest = -1.0
    for i in range(n):
        square = (ring[i, 0] - x) ** 2 + (ring[i, 1] - y) ** 2
        if square > farthest + 1e-9:  # equals decide alike, however the picture lies
            farthest = square
            first = i
    for i in range(n + 1):
        run[i] = ring[(first + i) % n]
    return n + 1


@njit(cache=True)
def _open_run(ring: Points, start: int, end: int, skipped: int, run: Points) -> int:
    """Copy the points from one corner to the next, leaving out those that the corners cut off."""
    n = len(ring)
    steps = (end - start) % n
    if steps == 0:
        steps = n
    length = 1
    for i in range(skipped, steps - skipped + 1):
        run[length] = ring[(start + i) % n]
        length += 1
    return length + 1


@njit(cache=True)
def _closing_direction(run: Points, length: int, ends: Points) -> None:
    """Give both ends of a closed run one direction, from the points on both sides of it."""
    x = y = 0.0
    for k in range(1, min(TANGENT_REACH, (length - 1) // 2) + 1):
        x += run[k, 0] - run[length - 1 - k, 0]
        y += run[k, 1] - run[length - 1 - k, 1]
    size = max(math.hypot(x, y), 1e-12)
    ends[0, 0], ends[0, 1] = x / size, y / size
    ends[1, 0], ends[1, 1] = -x / size, -y / size


@njit(cache=True)
def _joint(run: Points, at: int, length: int) -> tuple[float, float]:
    """Return the direction of a run at one of its points, from its neighbours on both sides."""
    x = y = 0.0
    for k in range(1, min(TANGENT_REACH, at, length - 1 - at) + 1):
        x += run[at + k, 0] - run[at - k, 0]
        y += run[at + k, 1] - run[at - k, 1]
    size = max(math.hypot(x, y), 1e-12)
    return x / size, y / size


@njit(cache=True)
def _fit_run(
    run: Points,
    u: Points,
    length: int,
    ends: Points,
    tolerance: float,
    controls: Points,
    count: int,
    work: Points,
) -> int:
    """Fit one run, from corner to corner or all round: its straight stretches, and curves between them."""
    start, end = length - length, length - 1  # no literal: each would be compiled for apart
    if is_free(ends) and leaves_chord(run, start, end) <= tolerance:
        place_straight(run, start, end, controls[count])
        return count + 1
    slack = min(SLACK_PX, tolerance / 2)
    stretches = straight_stretches(run, length, slack) if slack > 0.0 else np.empty((0, 2), np.int64)
    between = ends.copy()
    at = start
    for k in range(len(stretches)):
        first, last = stretches[k, 0], stretches[k, 1]
        line = line_through(run, first, last)
        if first > 0:
            set_on_line(run, first, line)
        if last < end:
            set_on_line(run, last, line)
        x, y = _direction(run, first, last)
        between[1, 0], between[1, 1] = -x, -y
        if first > at:
            count = _fit_between(run, u, at, first, length, between, tolerance, controls, count, work)
        place_straight(run, first, last, controls[count])
        count += 1
        between[0, 0], between[0, 1] = x, y
        at = last
    if at < end:
        between[1] = ends[1]
        count = _fit_between(run, u, at, end, length, between, tolerance, controls, count, work)
    return count


@njit(cache=True)
def _direction(run: Points, first: int, last: int) -> tuple[float, float]:
    """Return the direction from one point to another."""
    x, y = run[last, 0] - run[first, 0], run[last, 1] - run[first, 1]
    size = max(math.hypot(x, y), 1e-12)
    return x / size, y / size


@njit(cache=True)
def _fit_between(
    run: Points,
    u: Points,
    first: int,
    last: int,
    length: int,
    ends: Points,
    tolerance: float,
    controls: Points,
    count: int,
    work: Points,
) -> int:
    """Fit curves between two points of a run, splitting until they keep the tolerance."""
    spans = np.empty((last - first + 3, 2), np.int64)
    directions = np.empty((last - first + 3, 2, 2), np.float64)
    spans[0, 0], spans[0, 1] = first, last
    directions[0] = ends
    trial = np.empty((4, 2), np.float64)
    depth = 1
    while depth > 0:
        depth -= 1
        first, last = spans[depth, 0], spans[depth, 1]
        split = _fit_piece(run, u, first, last, directions[depth], tolerance, controls[count], trial, work)
        if split < 0:
            count += 1
            continue
        x, y = _joint(run, split, length)
        directions[depth + 1] = directions[depth]
        directions[depth + 1, 1, 0], directions[depth + 1, 1, 1] = -x, -y
        directions[depth, 0, 0], directions[depth, 0, 1] = x, y
        spans[depth, 0], spans[depth, 1] = split, last
        spans[depth + 1, 0], spans[depth + 1, 1] = first, split
        depth += 2
    return count


@njit(cache=True)
def _fit_piece(
    run: Points,
    u: Points,
    first: int,
    last: int,
    ends: Points,
    tolerance: float,
    piece: Points,
    trial: Points,
    work: Points,
) -> int:
    """Fit one piece; return -1 if it keeps the tolerance, else the point to split at."""
    place_straight(run, first, last, piece)
    if last - first == 1:
        return -1
    if is_free(ends) and leaves_chord(run, first, last) <= tolerance:
        return -1
    length = chord_parameters(run, u, first, last)
    kept = math.inf
    distance = math.inf
    for _ in range(NEWTON_ROUNDS + 1):
        before = distance
        place_least_squares(run, u, first, last, ends, length, trial, work)
        distance = worst_miss(run, u, first, last, trial)
        if distance >= kept:
            return -1
        if distance <= tolerance and keeps_between(run, u, first, last, trial, tolerance):
            piece[:] = trial
            if distance > WORTH_POLISHING * kept:
                return -1
            kept = distance
        elif kept < math.inf:
            return -1
        elif distance > min(
            WORTH_ANOTHER_ROUND * tolerance, max(NEARLY_THERE * tolerance, STILL_FALLING * before)
        ):
            break
        improve_parameters(run, u, first, last, trial)
    return -1 if kept < math.inf else _middle_miss(run, u, first, last, trial, distance)


@njit(cache=True)
def _middle_miss(run: Points, u: Points, first: int, last: int, piece: Points, distance: float) -> int:
    """Return, of the points that miss nearly most, the one nearest the middle.

    An even curve misses most at several places alike; splitting it in half leaves fewer pieces.
    """
    best = first + 1
    largest = (NEARLY * distance) ** 2
    low, high = (first + last) // 2, (first + last + 1) // 2
    while low > first:  # from the middle outwards
        for i in (low, high):
            x, y = point_at(piece, u[i])
            miss = (x - run[i, 0]) ** 2 + (y - run[i, 1]) ** 2
            if miss >= largest:  # of two alike, the worse: so a mirrored run splits alike
                largest, best = miss, i
                low = first
        low, high = low - 1, high + 1
    return best
