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

from workers.rectification.illumination import PaperLight

_INK_DARKNESS = 0.45  # marker ink takes away at least this share of the light; pencil seldom does
_COLOURED_DARKNESS = 0.25  # what has a colour of its own is ink though it be pale
_LOCAL_CELLS = 3.0  # over this distance a drying marker changes
_PALEST = 0.8  # of the paper's light: the driest ink that still counts
_PRIOR = 0.01  # how much ink the common level is worth where there is little or pale ink
_USUAL_LEVEL = 0.08
_BESIDE = np.ones((5, 5), np.uint8)  # of cells, round coloured ink


@dataclass(frozen=True, slots=True, eq=False)
class Inked:
    """Coverage of the sheet, and how dark its ink is."""

    coverage: NDArray[np.uint8]  # 0 ink, 255 paper
    ink_level: float  # light of the ink over the paper's, median
    ink_level_worst: float  # the same where the marker was driest (95th percentile)


@dataclass(frozen=True, slots=True, eq=False)
class CellMarks:
    """What is known of the cells of a sheet before its ink is told from paper."""

    no_ink: NDArray[np.bool_]  # their darkness says nothing of how dark the ink is: a fold, pencil
    pen_levels: NDArray[np.float32]  # of pale pen lines, the light of full ink over the paper's; elsewhere 0
    in_glare: NDArray[np.bool_]  # a lamp makes ink pale that is none; they are not in the figures


def unmarked(shape: tuple[int, ...]) -> CellMarks:
    """Return the marks of a sheet of which nothing is known."""
    nowhere = np.zeros(shape, np.bool_)
    return CellMarks(no_ink=nowhere, pen_levels=np.zeros(shape, np.float32), in_glare=nowhere)


def inked(light: NDArray[np.uint16], paper: PaperLight, marks: CellMarks | None = None) -> Inked:
    """Return the ink coverage of a sheet laid square.

    Args:
        light: (rows, columns) linear light.
        paper: The light of bare paper in cells.
        marks: What is known of the same cells, if anything.
    """
    marks = marks or unmarked(paper.level.shape)
    no_ink = marks.no_ink
    is_pen = (marks.pen_levels > 0) & ~no_ink
    darkest = np.where(is_pen, marks.pen_levels, paper.darkest)
    is_ink = (darkest < 1.0 - _INK_DARKNESS) | (paper.is_coloured & (darkest < 1.0 - _COLOURED_DARKNESS))
    is_ink = (is_ink & ~no_ink) | is_pen
    level = _ink_level(darkest, is_ink, ~no_ink, is_pen)
    if paper.is_coloured.any():  # pale ink is no measure for grey lines beside it
        near = cv2.dilate(paper.is_coloured.astype(np.uint8), _BESIDE).astype(bool)
        level = np.where(near, level, _ink_level(darkest, is_ink, ~near & ~no_ink, is_pen))
    slope = 255.0 / (paper.level * (1.0 - level))
    shift = -255.0 * level / (1.0 - level)
    wide = (light.shape[1], slope.shape[0])
    slopes, shifts = (
        np.asarray(cv2.resize(part.astype(np.float32), wide, interpolation=cv2.INTER_LINEAR), np.float32)
        for part in (slope, shift)
    )
    coverage = _mapped(light, slopes, shifts)
    core = level[is_ink & ~is_pen & ~cv2.dilate(marks.in_glare.astype(np.uint8), _BESIDE).astype(bool)]
    median, worst = (float(np.median(core)), float(np.percentile(core, 95))) if len(core) else (0.0, 0.0)
    return Inked(coverage, median, worst)


def _ink_level(
    darkest: NDArray[np.float32],
    is_ink: NDArray[np.bool_],
    counted: NDArray[np.bool_],
    is_pen: NDArray[np.bool_],
) -> NDArray[np.float32]:
    """Return the light of full ink over the paper's in each cell, carried on where there is no ink.

    ``counted`` are the cells that have a say in it; those of pale pen lines have as much of it as black ones.
    """
    core = darkest[is_ink & counted & ~is_pen]
    if not len(core):
        return np.full(darkest.shape, _USUAL_LEVEL, np.float32)
    weight = np.where(counted & (darkest < _PALEST), (1.0 - darkest) ** 4, 0.0).astype(np.float32)
    weight[is_pen] = 1.0
    amount = cv2.GaussianBlur(darkest * weight, (0, 0), _LOCAL_CELLS, borderType=cv2.BORDER_CONSTANT)
    count = cv2.GaussianBlur(weight, (0, 0), _LOCAL_CELLS, borderType=cv2.BORDER_CONSTANT)
    return np.asarray((amount + _PRIOR * float(np.median(core))) / (count + _PRIOR), np.float32)


@njit(cache=True, nogil=True)
def _mapped(
    light: NDArray[np.uint16], slope: NDArray[np.float32], shift: NDArray[np.float32]
) -> NDArray[np.uint8]:
    """Return light times slope plus shift, 0..255, both linear between the middles of the rows of cells.

    Args:
        light: (rows, columns).
        slope: (rows of cells, columns).
        shift: The same.
    """
    rows, columns = light.shape
    cell_rows = slope.shape[0]
    coverage = np.empty((rows, columns), np.uint8)
    half, zero, full = np.float32(0.5), np.float32(0.0), np.float32(255.0)
    for row in range(rows):
        place = min(max((row + 0.5) * cell_rows / rows - 0.5, 0.0), cell_rows - 1.0)
        knot = min(int(place), cell_rows - 2)
        share = np.float32(place - knot)
        own, line = light[row], coverage[row]
        slope_above, slope_below = slope[knot], slope[knot + 1]
        shift_above, shift_below = shift[knot], shift[knot + 1]
        for column in range(columns):
            gain = slope_above[column] + (slope_below[column] - slope_above[column]) * share
            base = shift_above[column] + (shift_below[column] - shift_above[column]) * share
            value = np.float32(own[column]) * gain + base
            value = value if value > zero else zero
            line[column] = np.uint8(np.int32((value if value < full else full) + half))
    return coverage
