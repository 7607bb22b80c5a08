"""Edge points of a picture: where it changes most sharply, and which way it gets brighter."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

_LEAST_STEP = 0.015  # change of a value (0..1) across an edge, above noise
_FULL_STEP = np.float32(32 * 255)  # Scharr's weights add up to 32 across an edge from 0 to 255

Array = NDArray[np.float32]
Slopes = NDArray[np.int16]


@dataclass(frozen=True, slots=True, eq=False)
class EdgePoints:
    """Points of the picture where its values change most sharply."""

    xy_px: Array  # (n, 2), from the middle of the picture
    normals: Array  # (n, 2), unit, towards the bright side
    steps: Array  # (n,) how much the value changes, 0..1


def edge_points(pixels: NDArray[np.uint8]) -> EdgePoints:
    """Return the points where the picture changes most sharply, in whichever channel shows it best.

    Args:
        pixels: (rows, columns, 3), sRGB, somewhat smoothed.
    """
    channels = cv2.split(pixels)
    across = [np.asarray(cv2.Scharr(channel, cv2.CV_16S, 1, 0), np.int16) for channel in channels]
    down = [np.asarray(cv2.Scharr(channel, cv2.CV_16S, 0, 1), np.int16) for channel in channels]
    step, gx, gy = _steepest(*across, *down)
    noise = float(np.median(step[::3, ::3]))
    row, column = _crests(step, gx, gy, max(_LEAST_STEP, 1.5 * noise))
    found = step[row, column]
    normals = np.stack([gx[row, column], gy[row, column]], axis=1) / found[:, None]
    middle = np.array(pixels.shape[1::-1], np.float32) / 2
    xy_px = np.stack([column, row], axis=1).astype(np.float32) + 0.5 - middle
    return EdgePoints(xy_px.astype(np.float32), normals, found)


@njit(cache=True, nogil=True)
def _steepest(
    x0: Slopes, x1: Slopes, x2: Slopes, y0: Slopes, y1: Slopes, y2: Slopes
) -> tuple[Array, Array, Array]:
    """Return the change of the channel that changes most, 0..1, and its parts across and down.

    One channel after the other and no branch, so that the compiler takes eight pixels at once.
    """
    rows, columns = x0.shape
    step = np.empty((rows, columns), np.float32)
    gx, gy = np.empty((rows, columns), np.float32), np.empty((rows, columns), np.float32)
    for row in range(rows):
        for column in range(columns):
            x, y = np.float32(x0[row, column]), np.float32(y0[row, column])
            most = x * x + y * y
            u, v = np.float32(x1[row, column]), np.float32(y1[row, column])
            square = u * u + v * v
            x, y = u if square > most else x, v if square > most else y
            most = square if square > most else most
            u, v = np.float32(x2[row, column]), np.float32(y2[row, column])
            square = u * u + v * v
            x, y = u if square > most else x, v if square > most else y
            most = square if square > most else most
            step[row, column] = np.sqrt(most) / _FULL_STEP
            gx[row, column], gy[row, column] = x / _FULL_STEP, y / _FULL_STEP
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
