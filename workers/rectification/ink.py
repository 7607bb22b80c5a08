"""Ink told from paper: how much of each pixel is ink, half-way exactly on its edge."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.illumination import PaperLight

_INK_DARKNESS = 0.45  # marker ink takes away at least this share of the light; pencil seldom does
_LOCAL_MM = 3.0  # over this distance a drying marker changes
_PALEST = 0.8  # of the paper's light: the driest ink that still counts
_PRIOR = 0.01  # how much ink the common level is worth where there is little or pale ink
_USUAL_LEVEL = 0.08


@dataclass(frozen=True, slots=True, eq=False)
class Inked:
    """Coverage of the sheet, and how dark its ink is."""

    coverage: NDArray[np.uint8]  # 0 ink, 255 paper
    ink_fraction: float  # of the sheet
    ink_level: float  # light of the ink over the paper's, median
    ink_level_worst: float  # the same where the marker was driest (95th percentile)


def inked(light: NDArray[np.uint16], paper: PaperLight, px_per_mm: float) -> Inked:
    """Return the ink coverage of a sheet laid square.

    Args:
        light: (rows, columns) linear light.
        paper: The light of bare paper in cells.
        px_per_mm: Scale of ``light``.
    """
    share = _share_of_paper(light, paper.level, np.float32(255.0 / 1.25))
    level = _ink_level(share, paper.level.shape)
    coverage = _between(share, level)
    core = level[_has_ink(share, paper.level.shape)]
    median, worst = (float(np.median(core)), float(np.percentile(core, 95))) if len(core) else (0.0, 0.0)
    return Inked(coverage, float((coverage < 128).mean()), median, worst)


@njit(cache=True, nogil=True)
def _share_of_paper(
    light: NDArray[np.uint16], level: NDArray[np.float32], scale: np.float32
) -> NDArray[np.uint8]:
    """Return light over the paper's level, 0..255 for 0..1.25, the level linear between cell middles."""
    rows, columns = light.shape
    share = np.empty((rows, columns), np.uint8)
    cell_rows, cell_columns = level.shape
    line = np.empty(cell_columns, np.float32)
    half, zero, full = np.float32(0.5), np.float32(0.0), np.float32(255.0)
    for row in range(rows):
        place = (np.float32(row) + half) * np.float32(cell_rows / rows) - half
        place = min(max(place, zero), np.float32(cell_rows - 1))
        knot = min(int(place), cell_rows - 2)
        part = place - np.float32(knot)
        for k in range(cell_columns):
            line[k] = level[knot, k] + (level[knot + 1, k] - level[knot, k]) * part
        for column in range(columns):
            place = (np.float32(column) + half) * np.float32(cell_columns / columns) - half
            place = min(max(place, zero), np.float32(cell_columns - 1))
            knot = min(int(place), cell_columns - 2)
            part = place - np.float32(knot)
            paper = line[knot] + (line[knot + 1] - line[knot]) * part
            share[row, column] = np.uint8(min(np.float32(light[row, column]) / paper * scale + half, full))
    return share


def _ink_level(share: NDArray[np.uint8], cells: tuple[int, int]) -> NDArray[np.float32]:
    """Return the light of full ink over the paper's in each cell, carried on where there is no ink."""
    darkest = _darkest(share, cells)
    is_ink = darkest < 1.0 - _INK_DARKNESS
    if not is_ink.any():
        return np.full(cells, _USUAL_LEVEL, np.float32)
    common = float(np.median(darkest[is_ink]))
    weight = np.where(darkest < _PALEST, (1.0 - darkest) ** 4, 0.0).astype(np.float32)
    amount = cv2.GaussianBlur(darkest * weight, (0, 0), _LOCAL_MM, borderType=cv2.BORDER_CONSTANT)
    count = cv2.GaussianBlur(weight, (0, 0), _LOCAL_MM, borderType=cv2.BORDER_CONSTANT)
    return np.asarray((amount + _PRIOR * common) / (count + _PRIOR), np.float32)


def _darkest(share: NDArray[np.uint8], cells: tuple[int, int]) -> NDArray[np.float32]:
    """Return for each cell of the sheet the darkest light over the paper's, noise evened out."""
    rows, columns = cells
    fine = cv2.resize(share, (columns * 4, rows * 4), interpolation=cv2.INTER_AREA).astype(np.float32)
    blocks = fine.reshape(rows, 4, columns, 4).transpose(0, 2, 1, 3).reshape(rows, columns, 16)
    return np.asarray(np.sort(blocks, axis=2)[:, :, :5].mean(axis=2) * (1.25 / 255.0), np.float32)


def _has_ink(share: NDArray[np.uint8], cells: tuple[int, int]) -> NDArray[np.bool_]:
    return np.asarray(_darkest(share, cells) < 1.0 - _INK_DARKNESS, np.bool_)


@njit(cache=True, nogil=True)
def _between(share: NDArray[np.uint8], level: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Return 0 at the ink's level, 255 at the paper's, linear between."""
    rows, columns = share.shape
    cell_rows, cell_columns = level.shape
    coverage = np.empty((rows, columns), np.uint8)
    line = np.empty(cell_columns, np.float32)
    half, zero, one, full = np.float32(0.5), np.float32(0.0), np.float32(1.0), np.float32(255.0)
    unit = np.float32(1.25 / 255.0)
    for row in range(rows):
        place = (np.float32(row) + half) * np.float32(cell_rows / rows) - half
        place = min(max(place, zero), np.float32(cell_rows - 1))
        knot = min(int(place), cell_rows - 2)
        part = place - np.float32(knot)
        for k in range(cell_columns):
            line[k] = level[knot, k] + (level[knot + 1, k] - level[knot, k]) * part
        for column in range(columns):
            place = (np.float32(column) + half) * np.float32(cell_columns / columns) - half
            place = min(max(place, zero), np.float32(cell_columns - 1))
            knot = min(int(place), cell_columns - 2)
            part = place - np.float32(knot)
            ink = line[knot] + (line[knot + 1] - line[knot]) * part
            value = (np.float32(share[row, column]) * unit - ink) / (one - ink)
            coverage[row, column] = np.uint8(min(max(value, zero), one) * full + half)
    return coverage
