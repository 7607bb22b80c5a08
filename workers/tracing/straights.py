"""Straight stretches of an edge, told from gentle curves."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Points = NDArray[np.float64]
Indices = NDArray[np.int64]
Line = tuple[float, float, float, float, float]

LEAST_POINTS = 24  # about 2 mm at 10 px/mm; shorter ones are left to the curves
SLACK_PX = 0.1  # what pixels leave of a straight edge stays below
LARGEST_BOW = 0.4  # share of the slack by which a straight stretch may bow; a curve fills the slack wholly
SET_BACK = 2  # points by which a stretch ends early, for the curve beside it to begin in


@njit(cache=True)
def straight_stretches(run: Points, length: int, slack: float) -> Indices:
    """Return the first and last points of the straight stretches of a run (k, 2), in order.

    A stretch is grown as long as all its points stay within the slack of one line.
    A circle of any radius can be followed so for a while, but then fills the slack
    with its bow; an edge that ends in a corner or a curve does not.

    Args:
        run: Points; the first ``length`` of them count.
        length: How many points.
        slack: How far the points of a straight edge may lie to either side, px.
    """
    found = np.empty((length // LEAST_POINTS + 1, 2), np.int64)
    count = 0
    start = 0
    while start + LEAST_POINTS <= length:
        end = _reach(run, start, length, slack)
        if end - start < LEAST_POINTS:
            start += max((end - start) // 4, 1)
            continue
        line = line_through(run, start + SET_BACK, end - SET_BACK)
        if abs(line[4]) > LARGEST_BOW * slack:
            start += (end - start) // 4
            continue
        first, last = _extended(run, length, start, end, line, slack)
        first = first if first == 0 else first + SET_BACK
        last = last if last == length - 1 else last - SET_BACK
        if count and first < found[count - 1, 1] + 2:
            first = found[count - 1, 1] + 2
        if last - first >= LEAST_POINTS // 2:
            found[count, 0], found[count, 1] = first, last
            count += 1
        start = max(last, end) + 1
    return found[:count].copy()


@njit(cache=True)
def _reach(run: Points, start: int, length: int, slack: float) -> int:
    """Return the last point up to which one ray from the first passes all points within the slack."""
    bx = by = 0.0  # the direction against which the others are measured
    low, high = -math.pi, math.pi
    for i in range(start + 1, length):
        dx, dy = run[i, 0] - run[start, 0], run[i, 1] - run[start, 1]
        distance = math.hypot(dx, dy)
        if distance <= slack:
            continue
        if bx == 0.0 and by == 0.0:
            bx, by = dx, dy
        lean = math.atan2(bx * dy - by * dx, bx * dx + by * dy)
        half = math.asin(slack / distance)
        low, high = max(low, lean - half), min(high, lean + half)
        if low > high or abs(lean) > 1.5:
            return i - 1
    return length - 1


@njit(cache=True)
def line_through(run: Points, first: int, last: int) -> Line:
    """Return the least-squares line through points: its middle, its direction, and their bow off it."""
    count = last - first + 1
    mx = my = sxx = sxy = syy = 0.0
    for i in range(first, last + 1):
        mx += run[i, 0] / count
        my += run[i, 1] / count
    for i in range(first, last + 1):
        dx, dy = run[i, 0] - mx, run[i, 1] - my
        sxx += dx * dx
        sxy += dx * dy
        syy += dy * dy
    angle = 0.5 * math.atan2(2 * sxy, sxx - syy)
    ux, uy = math.cos(angle), math.sin(angle)
    if (run[last, 0] - run[first, 0]) * ux + (run[last, 1] - run[first, 1]) * uy < 0:
        ux, uy = -ux, -uy
    s2 = s3 = s4 = o2 = half = 0.0
    for i in range(first, last + 1):
        s = (run[i, 0] - mx) * ux + (run[i, 1] - my) * uy
        s2 += s * s
        s3 += s**3
        s4 += s**4
        o2 += s * s * ((run[i, 1] - my) * ux - (run[i, 0] - mx) * uy)
        half = max(half, abs(s))
    spread = s4 - s3 * s3 / max(s2, 1e-12) - s2 * s2 / count
    return mx, my, ux, uy, o2 / max(spread, 1e-12) * half * half


@njit(cache=True)
def _extended(run: Points, length: int, first: int, last: int, line: Line, slack: float) -> tuple[int, int]:
    """Return how far, to both sides, the points stay within half the slack of a line."""
    middle = (first + last) // 2
    while middle > 0 and off_line(run, middle - 1, line) <= slack / 2:
        middle -= 1
    first, middle = middle, (first + last) // 2
    while middle < length - 1 and off_line(run, middle + 1, line) <= slack / 2:
        middle += 1
    return first, middle


@njit(cache=True)
def off_line(run: Points, i: int, line: Line) -> float:
    """Return the distance of a point from a line."""
    return math.fabs((run[i, 1] - line[1]) * line[2] - (run[i, 0] - line[0]) * line[3])


@njit(cache=True)
def set_on_line(run: Points, i: int, line: Line) -> None:
    """Move a point to its foot on a line."""
    s = (run[i, 0] - line[0]) * line[2] + (run[i, 1] - line[1]) * line[3]
    run[i, 0], run[i, 1] = line[0] + s * line[2], line[1] + s * line[3]
