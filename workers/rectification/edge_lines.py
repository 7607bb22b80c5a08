"""Straight edges in a picture, each with its bright side known.

A sheet of paper is brighter than what it lies on, under the same light, in at least
one channel. So every edge point votes for the lines through it whose normal points
the way the picture gets brighter, and the outline of a sheet shows as four lines that
look at each other, whatever shadows cross it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

_ANGLE_BINS = 240  # 1.5 degrees each, full circle: a line's two directions are two lines
_OFFSET_STEP_PX = 3.0
_SPREAD_BINS = 3  # an edge point votes this many bins to either side of its own direction
_NEAR_PX = 5.0  # a curled side strays from its line; its points still count as its own
_NEAR_COS = 0.966  # 15 degrees
_LEAST_STEP = 0.015  # change of a value (0..1) across an edge, above noise
_TAKEN_PX = 9.0
_TAKEN_COS = 0.9976  # 4 degrees
_ALONG_STEP_PX = 4.0

Array = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class EdgePoints:
    """Points of the picture where its values change most sharply."""

    xy_px: NDArray[np.float32]  # (n, 2), from the middle of the picture
    normals: NDArray[np.float32]  # (n, 2), unit, towards the bright side
    steps: NDArray[np.float32]  # (n,) how much the value changes, 0..1


@dataclass(frozen=True, slots=True, eq=False)
class EdgeLine:
    """A line x . normal = offset, with where along it there is an edge to be seen."""

    normal: NDArray[np.float64]  # (2,), unit, towards the bright side
    offset_px: float  # from the middle of the picture
    seen: NDArray[np.float64]  # running share of steps along the line that have an edge, see below
    first_px: float  # position along (-ny, nx) of seen[0]; steps of _ALONG_STEP_PX follow
    strength: float

    def seen_between(self, start_px: NDArray[np.float64], end_px: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how many pixels of the line between two positions along it show an edge."""
        places = self.first_px + _ALONG_STEP_PX * np.arange(len(self.seen))
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


def edge_points(values: NDArray[np.float32]) -> EdgePoints:
    """Return the points where the picture changes most sharply, in whichever channel shows it best.

    Args:
        values: (rows, columns, 3), sRGB values 0..1, somewhat smoothed.
    """
    across = np.asarray(cv2.Scharr(values, cv2.CV_32F, 1, 0, scale=1 / 32), np.float32)
    down = np.asarray(cv2.Scharr(values, cv2.CV_32F, 0, 1, scale=1 / 32), np.float32)
    step, gx, gy = _steepest(across, down)
    noise = float(np.median(step[::2, ::2]))
    row, column = _crests(step, gx, gy, max(_LEAST_STEP, 1.5 * noise))
    found = step[row, column]
    normals = np.stack([gx[row, column], gy[row, column]], axis=1) / found[:, None]
    middle = np.array(values.shape[1::-1], np.float32) / 2
    xy_px = np.stack([column, row], axis=1).astype(np.float32) + 0.5 - middle
    return EdgePoints(xy_px.astype(np.float32), normals, found)


@njit(cache=True, nogil=True)
def _steepest(across: Array, down: Array) -> tuple[Array, Array, Array]:
    """Return the change of the channel that changes most, and its parts across and down."""
    rows, columns, channels = across.shape
    step, gx, gy = (
        np.empty((rows, columns), np.float32),
        np.empty((rows, columns), np.float32),
        np.empty((rows, columns), np.float32),
    )
    for row in range(rows):
        for column in range(columns):
            most = np.float32(-1.0)
            for channel in range(channels):
                x, y = across[row, column, channel], down[row, column, channel]
                if x * x + y * y > most:
                    most = x * x + y * y
                    gx[row, column], gy[row, column] = x, y
            step[row, column] = math.sqrt(most)
    return step, gx, gy


@njit(cache=True, nogil=True)
def _crests(step: Array, gx: Array, gy: Array, least: float) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Return row and column of where the change is the largest along its own direction (to 45 degrees)."""
    rows, columns = step.shape
    found_rows, found_columns = np.empty(rows * columns, np.int32), np.empty(rows * columns, np.int32)
    count = 0
    for row in range(rows):
        for column in range(columns):
            own, x, y = step[row, column], gx[row, column], gy[row, column]
            if own <= least:
                continue
            if abs(y) < 0.414 * abs(x):
                right, low = 1, 0
            elif abs(x) < 0.414 * abs(y):
                right, low = 0, 1
            else:
                right, low = (1, 1) if x * y > 0 else (-1, 1)
            after, before = np.float32(0.0), np.float32(0.0)  # nothing changes beyond the picture
            if row + low < rows and 0 <= column + right < columns:
                after = step[row + low, column + right]
            if row - low >= 0 and 0 <= column - right < columns:
                before = step[row - low, column - right]
            if own >= after and own > before:
                found_rows[count], found_columns[count] = row, column
                count += 1
    return found_rows[:count].copy(), found_columns[:count].copy()


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
    weight = np.minimum(points.steps, 0.12).astype(np.float64)
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
    order = np.argsort(part, axis=None, kind="stable")[::-1][: 60 * count]
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


@njit(cache=True, nogil=True)
def _near(xy_px: Array, normals: Array, x: float, y: float, offset_px: float) -> NDArray[np.int32]:
    """Return which edge points lie near a line and look its way."""
    kept = np.empty(len(xy_px), np.int32)
    count = 0
    for k in range(len(xy_px)):
        off = xy_px[k, 0] * x + xy_px[k, 1] * y - offset_px
        if abs(off) < _NEAR_PX and normals[k, 0] * x + normals[k, 1] * y > _NEAR_COS:
            kept[count] = k
            count += 1
    return kept[:count].copy()


def _measured(
    points: EdgePoints, normal: NDArray[np.float64], offset_px: float, reach_px: float
) -> EdgeLine | None:
    """Return the line fitted to the points near it, with where along it they are seen."""
    for _ in range(2):
        near = _near(points.xy_px, points.normals, normal[0], normal[1], offset_px)
        if len(near) < 12:
            return None
        own, weight = points.xy_px[near].astype(np.float64), points.steps[near].astype(np.float64)
        centre = weight @ own / weight.sum()
        spread = ((own - centre) * weight[:, None]).T @ (own - centre)
        fitted = np.linalg.eigh(spread)[1][:, 0]
        fitted = fitted if fitted @ normal > 0 else -fitted
        if fitted @ normal < 0.995:
            break
        normal, offset_px = fitted, float(fitted @ centre)
    along = own @ np.array([-normal[1], normal[0]])
    cells = np.zeros(int(2 * reach_px / _ALONG_STEP_PX) + 2)
    cells[((along + reach_px) / _ALONG_STEP_PX).astype(np.int64)] = _ALONG_STEP_PX
    seen = np.concatenate([[0.0], np.cumsum(cells)])
    return EdgeLine(normal, offset_px, seen, -reach_px, float(np.minimum(weight, 0.12).sum()))
