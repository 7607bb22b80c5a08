"""Depth at places between the middles of cells."""

from __future__ import annotations

from typing import Any

from numba import njit


@njit(cache=True, nogil=True)
def depth_between(depth: Any, x: float, y: float) -> Any:
    """Return the depth at a place, in cells from the middle of the first; it must not lie before that."""
    column, row = min(int(x), depth.shape[1] - 2), min(int(y), depth.shape[0] - 2)
    across, along = x - column, y - row
    first = depth[row, column] * (1 - across) + depth[row, column + 1] * across
    second = depth[row + 1, column] * (1 - across) + depth[row + 1, column + 1] * across
    return first * (1 - along) + second * along
