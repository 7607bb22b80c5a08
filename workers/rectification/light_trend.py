"""How a lamp or a window lights a sheet: a smooth surface through most of its paper."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

_THINNED = 5  # every fifth cell is plenty for six unknowns
_LEAST_CELLS = 60
_STIFFNESS = np.array([0.0, 0.0005, 0.0005, 0.005, 0.005, 0.005])  # against slope, against curvature

Array = NDArray[np.float32]


def light_trend(level: Array, counted: NDArray[np.bool_], start: float, spreads: Sequence[float]) -> Array:
    """Return the surface of the second degree that most of the counted cells lie on.

    Args:
        level: (rows, columns) logarithm of light.
        counted: Which cells count.
        start: The level about which to begin.
        spreads: For each round, by how much a cell may depart and still count.

    Source: iteratively reweighted least squares (Holland and Welsch 1977) with Tukey's biweight, so that
    what is far off, as all of a shadow, counts nothing; the surface is stiff where nothing counts.
    """
    if counted.sum() < _LEAST_CELLS * _THINNED:
        return np.full_like(level, start)
    rows, columns = level.shape
    down, across = np.meshgrid(np.linspace(-1, 1, rows), np.linspace(-1, 1, columns), indexing="ij")
    terms = np.stack([np.ones_like(down), down, across, down * across, down**2, across**2], axis=-1)
    seen, values = terms[counted][::_THINNED], level[counted][::_THINNED].astype(np.float64)
    surface = np.array([start, 0, 0, 0, 0, 0], np.float64)
    for spread in spreads:
        weight = np.maximum(1.0 - ((values - seen @ surface) / spread) ** 2, 0.0) ** 2
        weighed = seen * weight[:, None]
        stiff = np.diag(_STIFFNESS * weight.sum() + 1e-9)
        solved = np.linalg.solve(weighed.T @ seen + stiff, weighed.T @ values)
        surface = np.asarray(solved, np.float64)
    return np.asarray(terms @ surface, np.float32)
