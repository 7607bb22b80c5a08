"""Thin lines that are no drawing, taken out of the coverage without hurting ink that crosses them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

_SHEARS = np.linspace(-2.0, 2.0, 17)  # ways in which ink may cross a line

Bytes = NDArray[np.uint8]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class ThinLines:
    """Lines as they run over a raster, each from its first column to its last."""

    paths: Array  # (lines, columns): the row of each line's middle
    half_px: int  # how far from it, down the raster, the line and its blur reach
    keep_below: float  # a coverage so dark that it is no line


def erase(coverage: Bytes, lines: ThinLines) -> None:
    """Lighten the pixels of lines, in place, to what ink on both of their sides, in one direction, leaves.

    A pixel stays ink only where it is far darker than the line itself, or where ink on both sides meets in
    it; so nothing is made ink that was not dark.

    Args:
        coverage: (rows, columns), 0 ink, 255 paper.
        lines: What is taken out of it.
    """
    _erase(coverage, coverage.copy(), lines.paths, lines.half_px, lines.keep_below, _SHEARS)


@njit(cache=True, nogil=True)
def _erase(coverage: Bytes, before: Bytes, paths: Array, half: int, keep_below: float, shears: Array) -> None:
    rows, columns = coverage.shape
    for line in range(len(paths)):
        for column in range(columns):
            middle = round(paths[line, column])
            above, below = max(middle - half - 1, 0), min(middle + half + 1, rows - 1)
            for row in range(above + 1, below):
                own = before[row, column]
                if own < keep_below or own == 255:
                    continue
                darkest = 255
                for shear in shears:
                    left = round(column + shear * (above - row))
                    right = round(column + shear * (below - row))
                    if 0 <= left < columns and 0 <= right < columns:
                        over = min(max(round(paths[line, left]) - half - 1, 0), rows - 1)
                        under = min(max(round(paths[line, right]) + half + 1, 0), rows - 1)
                        darkest = min(darkest, max(before[over, left], before[under, right]))
                coverage[row, column] = max(own, darkest)
