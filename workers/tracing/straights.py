"""Straight stretches of an edge, told from gentle curves."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Points = NDArray[np.float64]
Lengths = NDArray[np.float64]
Indices = NDArray[np.int64]
Line = tuple[float, float, float, float, float]

LEAST_PX = 18.0  # about 2 mm at 10 px/mm; shorter ones are left to the curves
LEAST_POINTS = 5  # through fewer, a curve may look straight
SLACK_PX = 0.1  # what pixels leave of a straight edge stays below
LARGEST_BOW = 0.4  # share of the slack by which a straight stretch may bow; a curve fills the slack wholly
SET_BACK_PX = 1.5  # by which a stretch ends early, for the curve beside it to begin in


@njit(cache=True)
def straight_stretches(run: Points, along: Lengths, length: int, slack: float) -> Indices:
    """Return the first and last points of the straight stretches of a run (k, 2), in order.

    A stretch is grown as long as all its points stay within the slack of one line.
    A circle of any radius can be followed so for a while, but then fills the slack
    with its bow; an edge that ends in a corner or a curve does not.

    Args:
        run: Points; the first ``length`` of them count.
        along: How far along the run each of them lies, px.
        length: How many points.
        slack: How far the points of a straight edge may lie to either side, px.
    """
    found = np.empty((length // LEAST_POINTS + 1, 2), np.int64)
    count = 0
    start = ahead = 0
    while True:
        ahead = _ahead(along, start, max(start, ahead), length)
        if ahead == length:
            return found[:count].copy()
        end = start
        if _off_chord(run, (start + ahead) // 2, start, ahead) <= slack:
            end = _reach(run, start, length, slack)
        if end < ahead:
            start += max((end - start) // 4, 1)
            continue
        line = line_through(run, set_back(along, start, 1), set_back(along, end, -1))
        if abs(line[4]) > LARGEST_BOW * slack:
            start += max((end - start) // 4, 1)
            continue
        first, last = _extended(run, length, start, end, line, slack)
        first = first if first == 0 else set_back(along, first, 1)
        last = last if last == length - 1 else set_back(along, last, -1)
        if count and first < found[count - 1, 1] + 2:
            first = found[count - 1, 1] + 2
        if last > first and along[last] - along[first] >= LEAST_PX / 2:
            found[count, 0], found[count, 1] = first, last
            count += 1
        start = max(last, end) + 1


@njit(cache=True)
def _ahead(along: Lengths, start: int, ahead: int, length: int) -> int:
    """Return the first point at which a stretch may end; the number of points if there is none."""
    while ahead < length and (ahead - start < LEAST_POINTS - 1 or along[ahead] - along[start] < LEAST_PX):
        ahead += 1
    return min(ahead, length)


@njit(cache=True)
def set_back(along: Lengths, at: int, way: int) -> int:
    """Return the first point that lies so far on, one way or the other, as a stretch is to end early."""
    begin = at
    while abs(along[at] - along[begin]) < SET_BACK_PX:
        at += way
    return at


@njit(cache=True)
def _off_chord(run: Points, i: int, first: int, last: int) -> float:
    """Return how far a point lies from the line through two others."""
    dx, dy = run[last, 0] - run[first, 0], run[last, 1] - run[first, 1]
    across = abs((run[i, 0] - run[first, 0]) * dy - (run[i, 1] - run[first, 1]) * dx)
    return float(across / max(math.hypot(dx, dy), 1e-12))


@njit(cache=True)
def _reach(run: Points, start: int, length: int, slack: float) -> int:
    """Return the last point up to which one ray from the first passes all points within the slack.

    The rays that pass so far lie between two directions, the left and the right.
    """
    left_x = left_y = right_x = right_y = 0.0
    for i in range(start + 1, length):
        dx, dy = run[i, 0] - run[start, 0], run[i, 1] - run[start, 1]
        square = dx * dx + dy * dy - slack * slack
        if square <= 0.0:
            continue
        aim = math.sqrt(
            square
        )  # the two tangents from the first point to the circle of the slack about this one
        ax, ay = dx * aim - dy * slack, dy * aim + dx * slack
        bx, by = dx * aim + dy * slack, dy * aim - dx * slack
        if left_x == 0.0 and left_y == 0.0:
            left_x, left_y, right_x, right_y = ax, ay, bx, by
            continue
        if ax * left_y - ay * left_x > 0.0:
            left_x, left_y = ax, ay
        if bx * right_y - by * right_x < 0.0:
            right_x, right_y = bx, by
        is_none_left = right_x * left_y - right_y * left_x < 0.0
        if is_none_left or dx * (left_x + right_x) + dy * (left_y + right_y) < 0.0:
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
