"""Stations: the points that curves are fitted to, evened out and fewer where the picture is noisy.

Grain of the paper, of the sensor and of compression shakes the edge by a few hundredths of a pixel from one
point to the next; curves that followed it would take five pieces for each that the drawing has. So a noisy
edge is evened out first, by parabolas through the points near by, and every third point stands for its
neighbours, except where the edge bends too sharply for that. No parabola reaches beyond the end of a run,
that is a corner. An edge without noise is taken as it is.

Source: A. Savitzky and M. Golay, "Smoothing and differentiation of data", Analytical Chemistry 36, 1964.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Points = NDArray[np.float64]
Indices = NDArray[np.int32]

PLACE = 2  # columns of a point that are its place
REACH = 6  # points to either side of a parabola's middle: 13 are about ten pixels
REACH_IN_BENDS = 2
STRIDE = 3
MUCH_TURNED = 1.2  # tangent of 50 degrees: a radius of about 6 px, seen 6 points before and behind, has it
NOISE_IN_BENDS = 3.5  # times the noise: what evening out moves so far was no noise
LEAST_NOISE_PX = 0.012  # edges of exact coverage stay below 0.009, but for lines of two pixels
LARGEST_NOISE_PX = 0.1  # an edge more restless was drawn so (photos: 0.02 to 0.06)
NEARLY_STRAIGHT = (
    0.15  # tangent of the turn at a point, from 4 points before to 4 after: a radius of 20 px has it
)
LEAST_SHARE = (
    0.25  # of points where the edge is nearly straight; with fewer there is no telling bends from noise
)
SAME_PX = 1e-6  # points as near as that are one: an evened edge may meet the same pixel centre twice
_PROBED_REACH, _PROBED_EVERY = 4, 8
_BIN_PX, _BINS = 0.002, 200
_MEDIAN = 0.6745  # of a normal distribution's absolute values, in standard deviations


def parabola_weights(reach: int) -> Points:
    """Return the weights of so many points to either side in the middle of the parabola through them all."""
    k = np.arange(-reach, reach + 1)
    weights: Points = (3.0 * (3 * reach**2 + 3 * reach - 1) - 15.0 * k**2) / (
        (2 * reach - 1) * (2 * reach + 1) * (2 * reach + 3)
    )
    return weights


_WEIGHTS = np.zeros((REACH + 1, REACH + 1))  # by reach and by distance: the two sides weigh alike
for _reach in range(REACH + 1):
    _WEIGHTS[_reach, : _reach + 1] = parabola_weights(_reach)[_reach:]


def noise_px(points: Points, starts: Indices) -> float:
    """Return by how much noise moves the points of an edge aside, as a standard deviation; 0 if it is clean.

    Args:
        points: Points of closed loops (n, 2), px.
        starts: Where each loop starts, and the end of the last (m + 1).
    """
    counts = _shifts(points, starts)
    total = counts.sum()
    if total < LEAST_SHARE * len(points) / _PROBED_EVERY:
        return 0.0
    median_px = _BIN_PX * (0.5 + int(np.searchsorted(np.cumsum(counts), total / 2)))
    found = median_px / (_MEDIAN * float(np.sqrt(1.0 - _WEIGHTS[_PROBED_REACH, 0])))
    return found if LEAST_NOISE_PX <= found <= LARGEST_NOISE_PX else 0.0


@njit(cache=True)
def _shifts(points: Points, starts: Indices) -> NDArray[np.int64]:
    """Return how many of some points, where the edge is nearly straight, evening out moves aside how far."""
    counts = np.zeros(_BINS, np.int64)
    for loop in range(len(starts) - 1):
        for i in range(starts[loop] + _PROBED_REACH, starts[loop + 1] - _PROBED_REACH, _PROBED_EVERY):
            before, here, after = points[i - _PROBED_REACH], points[i], points[i + _PROBED_REACH]
            ax, ay, bx, by = here[0] - before[0], here[1] - before[1], after[0] - here[0], after[1] - here[1]
            if abs(ax * by - ay * bx) < NEARLY_STRAIGHT * (ax * bx + ay * by):
                _, _, aside, size = _evened(points, i, _PROBED_REACH)
                counts[min(int(aside / (size * _BIN_PX)), _BINS - 1)] += 1
    return counts


@njit(cache=True)
def _evened(points: Points, i: int, reach: int) -> tuple[float, float, float, float]:
    """Return a point evened out; and how far that is aside, times a length, and that length."""
    at, weight = np.uint64(i), _WEIGHTS[reach, 0]
    x, y = weight * points[at, 0], weight * points[at, 1]
    for k in range(1, reach + 1):
        weight, before, after = _WEIGHTS[np.uint64(reach), np.uint64(k)], np.uint64(i - k), np.uint64(i + k)
        x += weight * (points[before, 0] + points[after, 0])
        y += weight * (points[before, 1] + points[after, 1])
    first, last = np.uint64(i - reach), np.uint64(i + reach)
    along_x, along_y = points[last, 0] - points[first, 0], points[last, 1] - points[first, 1]
    aside = abs((x - points[at, 0]) * along_y - (y - points[at, 1]) * along_x)
    return x, y, aside, math.sqrt(along_x * along_x + along_y * along_y)


@njit(cache=True)
def _turns(points: Points, i: int, reach: int) -> bool:
    """Return whether the edge turns much at a point, seen from so far before and behind."""
    ax, ay = points[i, 0] - points[i - reach, 0], points[i, 1] - points[i - reach, 1]
    bx, by = points[i + reach, 0] - points[i, 0], points[i + reach, 1] - points[i, 1]
    return bool(abs(ax * by - ay * bx) > MUCH_TURNED * (ax * bx + ay * by))


@njit(cache=True)
def place_stations(
    run: Points, low: int, high: int, first: int, last: int, noise: float, into: Points
) -> int:
    """Write down the stations of a run of points, no two in a row the same; return how many.

    Args:
        run: Points, perhaps with the share of the tolerance at each (n, 2 or 3); where that is less than
            1, the point is its station.
        low: First point that a parabola may reach to.
        high: Last point that it may reach to.
        first: First point to be given a station.
        last: Last point, which is given one too.
        noise: Standard deviation of the noise, px; 0 to take every point as it is.
        into: Room for the stations.
    """
    count = first - first  # no literal: each would be compiled for apart
    i = first
    while True:
        reach = min(REACH, i - low, high - i)
        x, y = run[i, 0], run[i, 1]
        is_bend = noise == 0.0 or (run.shape[1] > PLACE and run[i, 2] < 1.0)
        if not is_bend and reach > 1:
            x, y, aside, size = _evened(run, i, reach)
            if aside > NOISE_IN_BENDS * noise * size or _turns(run, i, reach):
                is_bend = True
                x, y, _, _ = _evened(run, i, min(reach, REACH_IN_BENDS))
        is_new = count == 0 or abs(x - into[count - 1, 0]) + abs(y - into[count - 1, 1]) > SAME_PX
        if is_new or (i == last and count > 1):
            count += is_new
            into[count - 1, 0], into[count - 1, 1] = x, y
            into[count - 1, PLACE:] = run[i, PLACE:]
        if i == last:
            return count
        i = min(i + (1 if is_bend else STRIDE), last)
