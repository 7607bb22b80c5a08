"""How a lamp or a window lights a sheet: a smooth surface through most of its paper."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

_THINNED = 16  # every sixteenth cell is plenty for six unknowns
_LEAST_CELLS = 20
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
    places = np.flatnonzero(counted)[::_THINNED]
    down, across = np.linspace(-1, 1, rows)[places // columns], np.linspace(-1, 1, columns)[places % columns]
    seen = np.stack([np.ones_like(down), down, across, down * across, down**2, across**2], axis=-1)
    values = level.ravel()[places].astype(np.float64)
    surface = np.array([start, 0, 0, 0, 0, 0], np.float64)
    for spread in spreads:
        weight = np.maximum(1.0 - ((values - seen @ surface) / spread) ** 2, 0.0) ** 2
        weighed = seen * weight[:, None]
        stiff = np.diag(_STIFFNESS * weight.sum() + 1e-9)
        solved = np.linalg.solve(weighed.T @ seen + stiff, weighed.T @ values)
        surface = np.asarray(solved, np.float64)
    return _spread_out(surface, rows, columns)


def _spread_out(surface: NDArray[np.float64], rows: int, columns: int) -> Array:
    """Return the surface in every cell."""
    down, across = np.linspace(-1, 1, rows)[:, None], np.linspace(-1, 1, columns)[None]
    first = surface[0] + surface[1] * down + surface[4] * down**2
    second = surface[2] * across + surface[5] * across**2
    return np.asarray((surface[3] * down) * across + first + second, np.float32)
