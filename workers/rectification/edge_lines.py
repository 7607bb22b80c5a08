"""Straight edges in a picture, each with its bright side known.

A sheet of paper is brighter than what it lies on, under the same light, in at least
one channel. So every edge point votes for the lines through it whose normal points
the way the picture gets brighter, and the outline of a sheet shows as four lines that
look at each other, whatever shadows cross it.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
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


def edge_points(values: NDArray[np.float32]) -> EdgePoints:
    """Return the points where the picture changes most sharply, in whichever channel shows it best.

    Args:
        values: (rows, columns, 3), sRGB values 0..1, somewhat smoothed.
    """
    across = cv2.Scharr(values, cv2.CV_32F, 1, 0, scale=1 / 32)
    down = cv2.Scharr(values, cv2.CV_32F, 0, 1, scale=1 / 32)
    squared = across**2 + down**2
    best = squared.argmax(axis=2)[:, :, None]
    gx, gy = (
        np.asarray(np.take_along_axis(part, best, axis=2)[:, :, 0], np.float32) for part in (across, down)
    )
    step = np.sqrt(np.take_along_axis(squared, best, axis=2)[:, :, 0])
    noise = float(np.median(step))
    row, column = np.nonzero(_crests(step, gx, gy) & (step > max(_LEAST_STEP, 1.5 * noise)))
    found = step[row, column]
    normals = np.stack([gx[row, column], gy[row, column]], axis=1) / found[:, None]
    middle = np.array(values.shape[1::-1], np.float32) / 2
    xy_px = np.stack([column, row], axis=1).astype(np.float32) + 0.5 - middle
    return EdgePoints(xy_px.astype(np.float32), normals, found)


def _crests(step: NDArray[np.float32], gx: NDArray[np.float32], gy: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Return where the change is the largest along its own direction (rounded to 45 degrees)."""
    padded = np.pad(step, 1)
    rows, columns = step.shape

    def shifted(right: int, low: int) -> NDArray[np.float32]:
        return padded[1 + low : 1 + low + rows, 1 + right : 1 + right + columns]

    ax, ay = np.abs(gx), np.abs(gy)
    flat, steep, rising = ay < 0.414 * ax, ax < 0.414 * ay, gx * gy > 0
    crest = np.where(
        flat,
        (step >= shifted(1, 0)) & (step > shifted(-1, 0)),
        np.where(
            steep,
            (step >= shifted(0, 1)) & (step > shifted(0, -1)),
            np.where(
                rising,
                (step >= shifted(1, 1)) & (step > shifted(-1, -1)),
                (step >= shifted(-1, 1)) & (step > shifted(1, -1)),
            ),
        ),
    )
    return np.asarray(crest, np.bool_)


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
    own = np.round(angle_rad * (_ANGLE_BINS / (2 * np.pi))).astype(np.int64)
    weight = np.minimum(points.steps, 0.12)
    count = int(2 * reach_px / _OFFSET_STEP_PX) + 2
    votes = np.zeros(_ANGLE_BINS * count)
    for spread in range(-_SPREAD_BINS, _SPREAD_BINS + 1):
        bins = (own + spread) % _ANGLE_BINS
        direction = bins * (2 * np.pi / _ANGLE_BINS)
        offset = points.xy_px[:, 0] * np.cos(direction) + points.xy_px[:, 1] * np.sin(direction)
        index = bins * count + ((offset + reach_px) / _OFFSET_STEP_PX).astype(np.int64)
        votes += np.bincount(index, weight, minlength=len(votes))
    table = votes.reshape(_ANGLE_BINS, count)
    smoothed = table.copy()
    smoothed[:, 1:] += 0.7 * table[:, :-1]
    smoothed[:, :-1] += 0.7 * table[:, 1:]
    return smoothed


def _strongest(
    points: EdgePoints, votes: NDArray[np.float64], bins: NDArray[np.int64], reach_px: float, count: int
) -> list[EdgeLine]:
    """Return the lines with the most votes among some directions, no two alike."""
    part = votes[bins]
    order = np.argsort(part, axis=None, kind="stable")[::-1][: 60 * count]
    lines: list[EdgeLine] = []
    taken: list[tuple[NDArray[np.float64], float]] = []
    for index in order:
        row, column = divmod(int(index), part.shape[1])
        angle_rad = float(bins[row]) * 2 * np.pi / _ANGLE_BINS
        normal = np.array([np.cos(angle_rad), np.sin(angle_rad)])
        offset_px = (column + 0.5) * _OFFSET_STEP_PX - reach_px
        if any(_alike(normal, offset_px, *other) for other in taken):
            continue
        taken.append((normal, offset_px))
        line = _measured(points, normal, offset_px, reach_px)
        if line is None or any(_alike(line.normal, line.offset_px, o.normal, o.offset_px) for o in lines):
            continue  # two peaks may be drawn to the same edge
        lines.append(line)
        if len(lines) == count:
            break
    return lines


def _alike(
    normal: NDArray[np.float64], offset_px: float, other: NDArray[np.float64], other_offset_px: float
) -> bool:
    return bool(normal @ other > _TAKEN_COS and abs(offset_px - other_offset_px) < _TAKEN_PX)


def _measured(
    points: EdgePoints, normal: NDArray[np.float64], offset_px: float, reach_px: float
) -> EdgeLine | None:
    """Return the line fitted to the points near it, with where along it they are seen."""
    for _ in range(2):
        near = (np.abs(points.xy_px @ normal - offset_px) < _NEAR_PX) & (points.normals @ normal > _NEAR_COS)
        if near.sum() < 12:
            return None
        own, weight = points.xy_px[near].astype(np.float64), points.steps[near].astype(np.float64)
        centre = np.average(own, axis=0, weights=weight)
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
