"""Ink told from paper: how much of each pixel is ink, half-way exactly on its edge.

Between bare paper and full ink the light falls in proportion to the ink that covers a pixel,
so the coverage is (paper - light) / (paper - ink), both levels taken from near by: the paper's
because of shadows, the ink's because markers dry.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.illumination import PARTS, PaperLight

_INK_DARKNESS = 0.45  # marker ink takes away at least this share of the light; pencil seldom does
_LOCAL_CELLS = 3.0  # over this distance a drying marker changes
_PALEST = 0.8  # of the paper's light: the driest ink that still counts
_PRIOR = 0.01  # how much ink the common level is worth where there is little or pale ink
_USUAL_LEVEL = 0.08
_DARKEST_COUNT = 5  # of the 16 parts of a cell: evens out noise, and does not only see the streaks


@dataclass(frozen=True, slots=True, eq=False)
class Inked:
    """Coverage of the sheet, and how dark its ink is."""

    coverage: NDArray[np.uint8]  # 0 ink, 255 paper
    ink_level: float  # light of the ink over the paper's, median
    ink_level_worst: float  # the same where the marker was driest (95th percentile)


def inked(light: NDArray[np.uint16], paper: PaperLight) -> Inked:
    """Return the ink coverage of a sheet laid square.

    Args:
        light: (rows, columns) linear light.
        paper: The light of bare paper in cells.
    """
    darkest = _darkest(paper)
    is_ink = darkest < 1.0 - _INK_DARKNESS
    level = _ink_level(darkest, is_ink)
    slope = 255.0 / (paper.level * (1.0 - level))
    shift = -255.0 * level / (1.0 - level)
    coverage = _mapped(light, slope.astype(np.float32), shift.astype(np.float32))
    core = level[is_ink]
    median, worst = (float(np.median(core)), float(np.percentile(core, 95))) if len(core) else (0.0, 0.0)
    return Inked(coverage, median, worst)


def _darkest(paper: PaperLight) -> NDArray[np.float32]:
    """Return for each cell of the sheet the darkest light over the paper's, noise evened out."""
    rows, columns = paper.level.shape
    blocks = paper.fine.reshape(rows, PARTS, columns, PARTS).transpose(0, 2, 1, 3).reshape(rows, columns, -1)
    ordered = np.partition(blocks, _DARKEST_COUNT, axis=2)[:, :, :_DARKEST_COUNT]
    return np.asarray(ordered.mean(axis=2) / paper.level, np.float32)


def _ink_level(darkest: NDArray[np.float32], is_ink: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Return the light of full ink over the paper's in each cell, carried on where there is no ink."""
    if not is_ink.any():
        return np.full(darkest.shape, _USUAL_LEVEL, np.float32)
    common = float(np.median(darkest[is_ink]))
    weight = np.where(darkest < _PALEST, (1.0 - darkest) ** 4, 0.0).astype(np.float32)
    amount = cv2.GaussianBlur(darkest * weight, (0, 0), _LOCAL_CELLS, borderType=cv2.BORDER_CONSTANT)
    count = cv2.GaussianBlur(weight, (0, 0), _LOCAL_CELLS, borderType=cv2.BORDER_CONSTANT)
    return np.asarray((amount + _PRIOR * common) / (count + _PRIOR), np.float32)


@njit(cache=True, nogil=True)
def _mapped(
    light: NDArray[np.uint16], slope: NDArray[np.float32], shift: NDArray[np.float32]
) -> NDArray[np.uint8]:
    """Return light times slope plus shift, 0..255, both linear between the middles of the cells."""
    rows, columns = light.shape
    cell_rows, cell_columns = slope.shape
    coverage = np.empty((rows, columns), np.uint8)
    slopes, shifts = np.empty(columns, np.float32), np.empty(columns, np.float32)
    half, zero, full = np.float32(0.5), np.float32(0.0), np.float32(255.0)
    knots, shares = np.empty(columns, np.int32), np.empty(columns, np.float32)
    for column in range(columns):
        place = (column + 0.5) * cell_columns / columns - 0.5
        place = min(max(place, 0.0), cell_columns - 1.0)
        knots[column] = min(int(place), cell_columns - 2)
        shares[column] = np.float32(place - knots[column])
    slope_line, shift_line = np.empty(cell_columns, np.float32), np.empty(cell_columns, np.float32)
    for row in range(rows):
        place = (row + 0.5) * cell_rows / rows - 0.5
        place = min(max(place, 0.0), cell_rows - 1.0)
        knot = min(int(place), cell_rows - 2)
        share = np.float32(place - knot)
        for k in range(cell_columns):
            slope_line[k] = slope[knot, k] + (slope[knot + 1, k] - slope[knot, k]) * share
            shift_line[k] = shift[knot, k] + (shift[knot + 1, k] - shift[knot, k]) * share
        for column in range(columns):
            k = knots[column]
            slopes[column] = slope_line[k] + (slope_line[k + 1] - slope_line[k]) * shares[column]
            shifts[column] = shift_line[k] + (shift_line[k + 1] - shift_line[k]) * shares[column]
        for column in range(columns):
            value = np.float32(light[row, column]) * slopes[column] + shifts[column]
            coverage[row, column] = np.uint8(min(max(value, zero), full) + half)
    return coverage
