"""Runs: the points of a loop from one sharp corner to the next, or all round, and their directions.

A point of a run is its place and, where curves came to cross, the share of the tolerance that holds there:
none where the edge is to be followed point by point.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.cubic import from_segment
from workers.tracing.stations import PLACE, REACH, place_stations

Points = NDArray[np.float64]
Lengths = NDArray[np.float64]

TANGENT_PX = 3.5  # to either side, from which the direction at a joint is taken
SIDE_POINTS = 6  # of a side beside a corner that tell where it runs
ON_SIDE_PX = 0.07  # by which points of a straight side may lie off it
CLOSED_REACH = 4  # the part of a short loop that its points may be evened out over


@njit(cache=True)
def closed_run(ring: Points, noise: float, raw: Points, run: Points) -> int:
    """Write down the stations of a loop without corners, from the point farthest from its middle on."""
    n = len(ring)
    x = y = 0.0
    for i in range(n):
        x, y = x + ring[i, 0], y + ring[i, 1]
    x, y = x / n, y / n
    first = 0
    farthest = -1.0
    for i in range(n):
        dx, dy = ring[i, 0] - x, ring[i, 1] - y
        square = dx * dx + dy * dy
        if square > farthest + 1e-9:  # equals decide alike, however the picture lies
            farthest = square
            first = i
    reach = min(REACH, n // CLOSED_REACH)
    _copy_round(ring, (first - reach) % n, n + 1 + 2 * reach, raw)
    length = place_stations(raw, 0, n + 2 * reach, reach, n + reach, noise, run)
    run[length - 1] = run[0]
    return length


@njit(cache=True)
def open_run(
    ring: Points, start: int, end: int, skipped: int, places: Points, noise: float, raw: Points, run: Points
) -> int:
    """Write down the stations from one corner to the next, leaving out points that the corners cut off.

    Args:
        ring: The loop's points.
        start: That at which the first corner stands.
        end: That at which the second one stands.
        skipped: How many points to either side of a corner it cuts off at least.
        places: Where the corners really are (2, 2).
        noise: Standard deviation of the noise, px.
        raw: Room for the points.
        run: Room for the stations.
    """
    n = len(ring)
    steps = (end - start) % n
    if steps == 0:
        steps = n
    more_after = more_before = 0
    if steps > 2 * (skipped + SIDE_POINTS):
        more_after = _cut_off(ring, start, 1, skipped, places[0])
        more_before = _cut_off(ring, end, -1, skipped, places[1])
    length = steps - 2 * skipped + 1 - more_after - more_before
    if length <= 0:
        return 2
    _copy_round(ring, (start + skipped + more_after) % n, length, raw)
    return 2 + place_stations(raw, 0, length - 1, 0, length - 1, noise, run[1:])


@njit(cache=True)
def _cut_off(ring: Points, at: int, way: int, skipped: int, place: Points) -> int:
    """Return how many more points beside a corner lie off its side, that being straight there."""
    n = len(ring)
    far = ring[(at + way * (skipped + SIDE_POINTS)) % n]
    for more in range(SIDE_POINTS - 1, 0, -1):
        point = ring[(at + way * (skipped + more - 1)) % n]
        if from_segment(point[0], point[1], place, far) > ON_SIDE_PX:
            return more if more < SIDE_POINTS - 1 else 0
    return 0


@njit(cache=True)
def _copy_round(ring: Points, at: int, count: int, into: Points) -> None:
    """Copy so many points of a loop from one on, round and round."""
    done = 0
    while done < count:
        more = min(count - done, len(ring) - at)
        into[done : done + more] = ring[at : at + more]
        done += more
        at = 0


@njit(cache=True)
def closing_direction(run: Points, length: int, ends: Points) -> None:
    """Give both ends of a closed run one direction, from the points on both sides of it."""
    x = y = 0.0
    for k in range(1, (length - 1) // 2 + 1):
        dx, dy = run[k, 0] - run[length - 1 - k, 0], run[k, 1] - run[length - 1 - k, 1]
        x, y = x + dx, y + dy
        if dx * dx + dy * dy >= 4 * TANGENT_PX * TANGENT_PX:
            break
    size = max(math.hypot(x, y), 1e-12)
    ends[0, 0], ends[0, 1] = x / size, y / size
    ends[1, 0], ends[1, 1] = -x / size, -y / size


@njit(cache=True)
def joint(run: Points, along: Lengths, at: int, length: int) -> tuple[float, float]:
    """Return the direction of a run at one of its points, from its neighbours on both sides."""
    x = y = 0.0
    for k in range(1, min(at, length - 1 - at) + 1):
        x += run[at + k, 0] - run[at - k, 0]
        y += run[at + k, 1] - run[at - k, 1]
        if along[at + k] - along[at - k] >= 2 * TANGENT_PX:
            break
    size = max(math.sqrt(x * x + y * y), 1e-12)
    return x / size, y / size


@njit(cache=True)
def direction(run: Points, first: int, last: int) -> tuple[float, float]:
    """Return the direction from one point to another."""
    x, y = run[last, 0] - run[first, 0], run[last, 1] - run[first, 1]
    size = max(math.hypot(x, y), 1e-12)
    return x / size, y / size


@njit(cache=True)
def least_share(run: Points, first: int, last: int) -> float:
    """Return the least share of the tolerance that holds anywhere from one point to another."""
    least = 1.0
    if run.shape[1] == PLACE:
        return least
    for i in range(first, last + 1):
        least = min(least, run[i, 2])
    return least


@njit(cache=True)
def measure(run: Points, length: int, along: Lengths) -> None:
    """Write down how far along the run each of its points lies."""
    along[0] = 0.0
    for i in range(1, length):
        dx, dy = run[i, 0] - run[i - 1, 0], run[i, 1] - run[i - 1, 1]
        along[i] = along[i - 1] + max(math.sqrt(dx * dx + dy * dy), 1e-9)
