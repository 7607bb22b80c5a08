"""Compiled rows of: inside or outside, distance to the outline, and the surface a bit leaves."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

NOBODY = -1  # no piece of the outline is within reach of a cell


@njit(cache=True, nogil=True)
def mark_crossings(
    crossings: NDArray[np.uint8],
    first_row: int,
    left_mm: float,
    bottom_mm: float,
    cell_mm: float,
    starts_mm: NDArray[np.float64],
    ends_mm: NDArray[np.float64],
) -> None:
    """Flip, in each row, the first cell whose centre lies right of where the outline crosses the row.

    Args:
        crossings: (rows, columns) of one band, zero before.
        first_row: The band's first row.
        left_mm: x of the map's left edge.
        bottom_mm: y of its lower edge.
        cell_mm: Side of a cell.
        starts_mm: (n, 2) of the outline's pieces.
        ends_mm: (n, 2).
    """
    rows, columns = crossings.shape
    for piece in range(len(starts_mm)):
        x0, y0 = starts_mm[piece, 0], starts_mm[piece, 1]
        x1, y1 = ends_mm[piece, 0], ends_mm[piece, 1]
        low, high = min(y0, y1), max(y0, y1)
        first = max(math.ceil((low - bottom_mm) / cell_mm - 0.5) - first_row, 0)
        last = min(math.ceil((high - bottom_mm) / cell_mm - 0.5) - first_row, rows)
        for row in range(first, last):
            y = bottom_mm + (row + first_row + 0.5) * cell_mm
            x = x0 + (x1 - x0) * (y - y0) / (y1 - y0)
            column = max(math.ceil((x - left_mm) / cell_mm - 0.5), 0)
            if column < columns:
                crossings[row, column] ^= 1


@njit(cache=True, nogil=True)
def _strip_span(corners, y):  # type: ignore[no-untyped-def]
    low, high = np.inf, -np.inf
    for place in range(4):
        x0, y0 = corners[place, 0], corners[place, 1]
        x1, y1 = corners[(place + 1) & 3, 0], corners[(place + 1) & 3, 1]
        if (y0 <= y) != (y1 <= y):
            x = x0 + (x1 - x0) * (y - y0) / (y1 - y0)
            low, high = min(low, x), max(high, x)
    return low, high


@njit(cache=True, nogil=True)
def sweep_strips(
    squared: NDArray[np.float32],
    nearest: NDArray[np.int32],
    keep_nearest: bool,
    first_row: int,
    left_mm: float,
    bottom_mm: float,
    cell_mm: float,
    starts_mm: NDArray[np.float64],
    directions: NDArray[np.float64],
    lengths_mm: NDArray[np.float64],
    corners_mm: NDArray[np.float64],
    owners: NDArray[np.int32],
) -> None:
    """Lower the squared distance of the cells in each strip to that of its piece.

    Args:
        squared: (rows, columns) of one band, mm2.
        nearest: The piece each distance belongs to; one cell when it is not kept.
        keep_nearest: Whether it is.
        first_row: The band's first row.
        left_mm: x of the map's left edge.
        bottom_mm: y of its lower edge.
        cell_mm: Side of a cell.
        starts_mm: (n, 2) of the pieces.
        directions: (n, 2).
        lengths_mm: (n,).
        corners_mm: (m, 4, 2) of the strips.
        owners: (m,) The piece of each strip.
    """
    rows, columns = squared.shape
    for strip in range(len(corners_mm)):
        corners = corners_mm[strip]
        piece = owners[strip]
        low_y = min(min(corners[0, 1], corners[1, 1]), min(corners[2, 1], corners[3, 1]))
        high_y = max(max(corners[0, 1], corners[1, 1]), max(corners[2, 1], corners[3, 1]))
        low_row = max(math.ceil((low_y - bottom_mm) / cell_mm - 0.5) - first_row, 0)
        high_row = min(math.floor((high_y - bottom_mm) / cell_mm - 0.5) + 1 - first_row, rows)
        along_x, along_y = np.float32(directions[piece, 0]), np.float32(directions[piece, 1])
        length = np.float32(lengths_mm[piece])
        for row in range(low_row, high_row):
            y = bottom_mm + (row + first_row + 0.5) * cell_mm
            low, high = _strip_span(corners, y)
            if not low <= high:
                continue
            first = max(math.ceil((low - left_mm) / cell_mm - 0.5), 0)
            last = min(math.floor((high - left_mm) / cell_mm - 0.5) + 1, columns)
            beside_x = left_mm + (first + 0.5) * cell_mm - starts_mm[piece, 0]
            beside_y = np.float32(y - starts_mm[piece, 1])
            for column in range(first, last):
                x = np.float32(beside_x + (column - first) * cell_mm)
                along = min(max(x * along_x + beside_y * along_y, np.float32(0.0)), length)
                off_x, off_y = x - along * along_x, beside_y - along * along_y
                distance2 = off_x * off_x + off_y * off_y
                if distance2 < squared[row, column]:
                    squared[row, column] = distance2
                    if keep_nearest:
                        nearest[row, column] = piece


@njit(cache=True, nogil=True)
def settle_sharp(
    squared: NDArray[np.float32],
    crossings: NDArray[np.uint8],
    slope: float,
    depth_limit_mm: float,
) -> None:
    """Turn squared distances into the surface of a sharp cone: 0 outside, else min(limit, d / slope).

    Args:
        squared: (rows, columns), mm2; becomes depths.
        crossings: As ``mark_crossings`` left them; becomes 1 inside, 0 outside.
        slope: tan of the bit's half angle.
        depth_limit_mm: Deepest cut.
    """
    rows, columns = squared.shape
    limit = np.float32(depth_limit_mm)
    steepness = np.float32(1 / slope)
    for row in range(rows):
        inside = np.uint8(0)
        for column in range(columns):
            inside ^= crossings[row, column]
            crossings[row, column] = inside
        for column in range(np.int32(columns)):
            depth = min(limit, np.float32(math.sqrt(squared[row, column])) * steepness)
            squared[row, column] = depth * np.float32(crossings[row, column])
