"""The public measures of document binarisation: F-measure, PSNR and DRD.

Pictures are arrays of booleans, True for ink. Sources: trade.md of the project's collection of outside
facts, I-10 (recall, precision and F of the 2009 contest), I-11 (PSNR) and I-12 (DRD: Lu, Kot and Shi, IEEE
Signal Processing Letters 11(2), 2004).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Ink = NDArray[np.bool_]

_WINDOW = 2  # px on each side of a wrong pixel
_BLOCK_PX = 8


def recall_precision_f(ink: Ink, truth: Ink) -> tuple[float, float, float]:
    """Return the share of the true ink that was found, of the found ink that is true, and F in percent."""
    both, found, wanted = (int(np.count_nonzero(area)) for area in (ink & truth, ink, truth))
    recall = both / wanted if wanted else 1.0
    precision = both / found if found else 1.0
    joint = recall + precision
    return recall, precision, 100 * 2 * recall * precision / joint if joint else 0.0


def psnr_db(ink: Ink, truth: Ink) -> float:
    """Return 10 log10 of one over the share of wrong pixels; infinite if none is wrong."""
    wrong = np.count_nonzero(ink != truth) / truth.size
    return 10 * math.log10(1 / wrong) if wrong else math.inf


def drd(ink: Ink, truth: Ink) -> float:
    """Return the distance-reciprocal distortion: what wrong pixels stand out by, for each block with an edge.

    What lies outside of the picture is as its nearest pixel.

    Raises:
        ValueError: The truth has no block of 8 x 8 with both ink and paper.
    """
    blocks = _uneven_blocks(truth)
    if not blocks:
        raise ValueError("a truth without an edge has no distortion to measure")
    rows, columns = np.nonzero(ink != truth)
    around = np.pad(truth, _WINDOW, mode="edge")
    weights = drd_weights()
    total = 0.0
    for down in range(2 * _WINDOW + 1):
        for across in range(2 * _WINDOW + 1):
            differs = around[rows + down, columns + across] != ink[rows, columns]
            total += weights[down, across] * np.count_nonzero(differs)
    return total / blocks


def drd_weights() -> NDArray[np.float64]:
    """Return the 5 x 5 weights: one over the distance, 0 in the middle, together 1."""
    down, across = np.mgrid[-_WINDOW : _WINDOW + 1, -_WINDOW : _WINDOW + 1]
    distance = np.hypot(down, across)
    distance[_WINDOW, _WINDOW] = np.inf
    weights = 1 / distance
    return np.asarray(weights / weights.sum())


def _uneven_blocks(truth: Ink) -> int:
    """Return how many whole blocks of 8 x 8 hold both ink and paper."""
    rows, columns = (side // _BLOCK_PX for side in truth.shape)
    whole = truth[: rows * _BLOCK_PX, : columns * _BLOCK_PX]
    sums = whole.reshape(rows, _BLOCK_PX, columns, _BLOCK_PX).sum(axis=(1, 3))
    return int(np.count_nonzero((sums > 0) & (sums < _BLOCK_PX**2)))
