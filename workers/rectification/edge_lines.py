"""Straight edges in a picture, each with its bright side known.

A sheet of paper is brighter than what it lies on, under the same light, in at least
one channel. So every edge point votes for the lines through it whose normal points
the way the picture gets brighter, and the outline of a sheet shows as four lines that
look at each other, whatever shadows cross it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.edge_points import EdgePoints

ALONG_STEP_PX = 4.0
_ANGLE_BINS = 240  # 1.5 degrees each, full circle: a line's two directions are two lines
_OFFSET_STEP_PX = 3.0
_SPREAD_BINS = 3  # an edge point votes this many bins to either side of its own direction
_NEAR_PX = 5.0  # a curled side strays from its line; its points still count as its own
_NEAR_COS = 0.966  # 15 degrees
_TAKEN_PX = 9.0
_TAKEN_COS = 0.9976  # 4 degrees
_FULL_VOTE = 0.12  # a steeper step counts no more
_LEAST_VOTES_SHARE = 0.02  # of the strongest line's
_LEAST_POINTS = 12
_TURN_COS = 0.995  # a line that turns farther as it is fitted is another one

Array = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class EdgeLine:
    """A line x . normal = offset, with where along it there is an edge to be seen."""

    normal: NDArray[np.float64]  # (2,), unit, towards the bright side
    offset_px: float  # from the middle of the picture
    seen: NDArray[np.float64]  # running share of steps along the line that have an edge, see below
    first_px: float  # position along (-ny, nx) of seen[0]; steps of ALONG_STEP_PX follow

    def seen_between(self, start_px: NDArray[np.float64], end_px: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how many pixels of the line between two positions along it show an edge."""
        places = self.first_px + ALONG_STEP_PX * np.arange(len(self.seen))
        return np.asarray(
            np.interp(end_px, places, self.seen) - np.interp(start_px, places, self.seen), np.float64
        )

    def within(self, half_frame: NDArray[np.float64]) -> tuple[float, float]:
        """Return the range of positions along the line that lie inside the picture."""
        along, foot = np.array([-self.normal[1], self.normal[0]]), self.normal * self.offset_px
        low, high = -math.inf, math.inf
        for axis in range(2):
            if abs(along[axis]) < 1e-9:
                continue
            ends = sorted((edge - foot[axis]) / along[axis] for edge in (-half_frame[axis], half_frame[axis]))
            low, high = max(low, ends[0]), min(high, ends[1])
        return (low, high) if high > low else (0.0, 0.0)


def edge_lines(points: EdgePoints, reach_px: float, per_quadrant: int = 12) -> list[list[EdgeLine]]:
    """Return the strongest lines whose bright side is below, left, above and right of them, in this order.

    That is: candidates for the top, right, bottom and left side of a sheet.

    Args:
        points: The edge points of the picture.
        reach_px: Half the picture's diagonal.
        per_quadrant: At most this many lines for each side.
    """
    votes = _votes(points, reach_px)
    lines: list[list[EdgeLine]] = []
    for side in range(4):
        middle_bin = (side + 1) * _ANGLE_BINS // 4
        bins = (middle_bin + np.arange(-_ANGLE_BINS // 8, _ANGLE_BINS // 8)) % _ANGLE_BINS
        lines.append(_strongest(points, votes, bins, reach_px, per_quadrant))
    return lines


def _votes(points: EdgePoints, reach_px: float) -> NDArray[np.float64]:
    """Return the votes of all points for each direction and offset."""
    angle_rad = np.arctan2(points.normals[:, 1], points.normals[:, 0])
    own = np.round(angle_rad * (_ANGLE_BINS / (2 * np.pi))).astype(np.int32)
    weight = np.minimum(points.steps, _FULL_VOTE).astype(np.float64)
    count = int(2 * reach_px / _OFFSET_STEP_PX) + 2
    table = _counted(points.xy_px, own, weight, reach_px, count)
    smoothed = table.copy()
    smoothed[:, 1:] += 0.7 * table[:, :-1]
    smoothed[:, :-1] += 0.7 * table[:, 1:]
    return smoothed


@njit(cache=True, nogil=True)
def _counted(
    xy_px: Array, own: NDArray[np.int32], weight: NDArray[np.float64], reach_px: float, count: int
) -> NDArray[np.float64]:
    """Return the table of votes, (direction, offset)."""
    table = np.zeros((_ANGLE_BINS, count))
    directions = np.arange(_ANGLE_BINS) * (2 * np.pi / _ANGLE_BINS)
    cosines, sines = np.cos(directions), np.sin(directions)
    for k in range(len(own)):
        for spread in range(-_SPREAD_BINS, _SPREAD_BINS + 1):
            at = (own[k] + spread) % _ANGLE_BINS
            offset = xy_px[k, 0] * cosines[at] + xy_px[k, 1] * sines[at]
            table[at, int((offset + reach_px) / _OFFSET_STEP_PX)] += weight[k]
    return table


def _strongest(
    points: EdgePoints, votes: NDArray[np.float64], bins: NDArray[np.int64], reach_px: float, count: int
) -> list[EdgeLine]:
    """Return the lines with the most votes among some directions, no two alike."""
    part = votes[bins]
    flat = part.ravel()
    likely = np.flatnonzero(flat > _LEAST_VOTES_SHARE * flat.max())
    order = likely[np.argsort(-flat[likely], kind="stable")][: 60 * count]
    rows, columns = np.divmod(order, part.shape[1])
    angle_rad = bins[rows] * 2 * np.pi / _ANGLE_BINS
    peaks = np.column_stack(
        [np.cos(angle_rad), np.sin(angle_rad), (columns + 0.5) * _OFFSET_STEP_PX - reach_px]
    )
    lines: list[EdgeLine] = []
    for k in _unlike(peaks):
        line = _measured(points, peaks[k, :2], float(peaks[k, 2]), reach_px)
        if line is None or any(_alike(line.normal, line.offset_px, o.normal, o.offset_px) for o in lines):
            continue  # two peaks may be drawn to the same edge
        lines.append(line)
        if len(lines) == count:
            break
    return lines


@njit(cache=True, nogil=True)
def _unlike(peaks: NDArray[np.float64]) -> NDArray[np.int32]:
    """Return which of the lines (normal x, y, offset) are like none before them."""
    kept = np.empty(len(peaks), np.int32)
    count = 0
    for k in range(len(peaks)):
        new = True
        for other in range(count):
            o = kept[other]
            turn = peaks[k, 0] * peaks[o, 0] + peaks[k, 1] * peaks[o, 1]
            if turn > _TAKEN_COS and abs(peaks[k, 2] - peaks[o, 2]) < _TAKEN_PX:
                new = False
                break
        if new:
            kept[count] = k
            count += 1
    return kept[:count].copy()


def _alike(
    normal: NDArray[np.float64], offset_px: float, other: NDArray[np.float64], other_offset_px: float
) -> bool:
    return bool(normal @ other > _TAKEN_COS and abs(offset_px - other_offset_px) < _TAKEN_PX)


def _measured(
    points: EdgePoints, normal: NDArray[np.float64], offset_px: float, reach_px: float
) -> EdgeLine | None:
    """Return the line fitted to the points near it, with where along it they are seen."""
    for _ in range(2):
        near, x, y, offset = _fitted(
            points.xy_px, points.normals, points.steps, normal[0], normal[1], offset_px
        )
        if len(near) < _LEAST_POINTS:
            return None
        if x * normal[0] + y * normal[1] < _TURN_COS:
            break
        normal, offset_px = np.array([x, y]), offset
    seen = _seen_along(points.xy_px, near, normal[0], normal[1], reach_px)
    return EdgeLine(normal, offset_px, seen, -reach_px)


@njit(cache=True, nogil=True)
def _fitted(
    xy_px: Array, normals: Array, steps: Array, x: float, y: float, offset_px: float
) -> tuple[NDArray[np.int32], float, float, float]:
    """Return which edge points lie near a line and look its way, and the line through them.

    That is its normal's x and y and its offset, by least squares across it, steep points counting more.
    """
    near = np.empty(len(xy_px), np.int32)
    count, total = 0, 0.0
    sum_x, sum_y, sum_xx, sum_xy, sum_yy = 0.0, 0.0, 0.0, 0.0, 0.0
    for k in range(len(xy_px)):
        u, v = float(xy_px[k, 0]), float(xy_px[k, 1])
        if abs(u * x + v * y - offset_px) < _NEAR_PX and normals[k, 0] * x + normals[k, 1] * y > _NEAR_COS:
            near[count] = k
            count += 1
            weight = float(steps[k])
            total += weight
            sum_x += weight * u
            sum_y += weight * v
            sum_xx += weight * u * u
            sum_xy += weight * u * v
            sum_yy += weight * v * v
    total = max(total, 1e-12)
    middle_x, middle_y = sum_x / total, sum_y / total
    spread_x, spread_y = sum_xx / total - middle_x**2, sum_yy / total - middle_y**2
    turn = 0.5 * math.atan2(2 * (sum_xy / total - middle_x * middle_y), spread_x - spread_y)
    across_x, across_y = -math.sin(turn), math.cos(turn)
    if across_x * x + across_y * y < 0:
        across_x, across_y = -across_x, -across_y
    return near[:count].copy(), across_x, across_y, across_x * middle_x + across_y * middle_y


@njit(cache=True, nogil=True)
def _seen_along(
    xy_px: Array, near: NDArray[np.int32], x: float, y: float, reach_px: float
) -> NDArray[np.float64]:
    """Return the running length along a line that shows an edge, in steps."""
    seen = np.zeros(int(2 * reach_px / ALONG_STEP_PX) + 3)
    for k in near:
        along = x * xy_px[k, 1] - y * xy_px[k, 0]
        seen[1 + int((along + reach_px) / ALONG_STEP_PX)] = ALONG_STEP_PX
    return np.cumsum(seen)
