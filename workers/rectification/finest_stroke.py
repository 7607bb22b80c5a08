"""How thin the finest stroke on a sheet is, as its photo shows it: what the working raster must hold."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.linear_light import light_of_value
from workers.rectification.sheet_surface import Surface

Array = NDArray[np.float64]

_EVERY_MM = 3.0  # a row and a column of the photo is looked at
_PAPER_MM = 6.0  # within so much of a row there is paper
_DARK = 0.55  # of the paper's light
_SURELY_DARK, _SURELY_BRIGHT = 0.35, 0.75  # of it: noise on a soft edge does not go from one to the other
_FEWEST = 10  # crossings: some 25 mm of line, less is the tip of a thick one
_MARGIN = 0.04  # of the sheet, where things lie over its edge
_BIN_PX, _BINS_COUNT = 0.25, 400


def finest_stroke_mm(
    pixels: NDArray[np.uint8], surface: Surface, px_per_mm: float, edge_width_px: float = 0.0
) -> float:
    """Return the width that at least 25 mm of line have or less, 0 if there is not so much.

    Rows and columns of the photo are followed, and where one is dark between two bright stretches it crosses
    a stroke. A stroke aslant counts as up to 1.4 times as wide;
    a noisy photo's soft edges may pass for finer ones, which costs time and no accuracy.

    Args:
        pixels: (rows, columns, 3) of the photo.
        surface: Where the sheet's points are seen.
        px_per_mm: The photo's scale on the sheet.
        edge_width_px: Over which its edges go from paper to ink: what is narrower is noise on one.
    """
    middle = surface.corners_px.mean(axis=0)
    inner = middle + (1 - 2 * _MARGIN) * (surface.corners_px - middle)
    step, reach = max(1, round(_EVERY_MM * px_per_mm)), max(4, round(_PAPER_MM * px_per_mm))
    counts = np.zeros(_BINS_COUNT, np.int64)
    light = light_of_value()
    for axis, plane in ((1, pixels[:, :, 1]), (0, pixels[:, :, 1].T)):
        corners = inner if axis == 1 else inner[:, ::-1]
        for line in range(max(0, int(corners[:, 1].min())), min(len(plane), int(corners[:, 1].max())), step):
            start, end = _span(corners, line + 0.5, plane.shape[1])
            if end - start > reach:
                _count_crossings(plane[line, start:end], light, reach, counts)
    counts[: int(0.8 * edge_width_px / _BIN_PX)] = 0
    reached = np.flatnonzero(np.cumsum(counts) >= _FEWEST)
    return float((reached[0] + 0.5) * _BIN_PX / px_per_mm) if len(reached) else 0.0


@njit(cache=True, nogil=True)
def _span(corners: Array, y: float, columns: int) -> tuple[int, int]:
    """Return from where to where a row lies between four corners."""
    low, high = float(columns), 0.0
    for k in range(4):
        a, b = corners[k], corners[(k + 1) % 4]
        if (a[1] <= y) != (b[1] <= y):
            x = a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
            low, high = min(low, x), max(high, x)
    return max(0, int(low)), min(columns, int(high))


@njit(cache=True, nogil=True)
def _count_crossings(
    values: NDArray[np.uint8], light_of: Array, reach: int, counts: NDArray[np.int64]
) -> None:
    """Add the widths of the dark stretches of a row to a histogram, measured between pixels."""
    length = len(values)
    blocks = (length + reach - 1) // reach
    brightest = np.empty(blocks)
    for block in range(blocks):
        brightest[block] = light_of[values[block * reach : min(length, (block + 1) * reach)].max()]
    entered, left, is_dark = 0.0, 0.0, False
    own = light_of[values[0]]
    for k in range(1, length):
        block = k // reach
        paper = brightest[block]
        if block > 0:
            paper = max(paper, brightest[block - 1])
        if block + 1 < blocks:
            paper = max(paper, brightest[block + 1])
        level = _DARK * paper
        before, own = own, light_of[values[k]]
        if before >= level and own < level and not is_dark:
            entered = k - 1 + (before - level) / (before - own)
        elif before < level and own >= level:
            left = k - 1 + (level - before) / (own - before)
        if own < _SURELY_DARK * paper:
            is_dark = True
        elif own > _SURELY_BRIGHT * paper and is_dark:
            counts[min(int(max(left - entered, 0.0) / _BIN_PX), len(counts) - 1)] += 1
            is_dark = False
