"""The light of the cells in which a sheet is looked at: of their brightest parts, and of their darkest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

PARTS = 4  # a cell is looked at in 4 x 4 parts
_TOP_COUNT = 4  # of the 16 parts
_DARKEST_COUNT = 5  # evens out noise, and does not only see the streaks of a marker
_AS_BRIGHT = np.float32(0.88)  # of the brightest: what in a cell is paper too

Array = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class CellLight:
    """What cells of a sheet show, (rows, columns) each."""

    top: Array  # mean of the brightest parts
    body: Array  # mean of all parts about as bright
    darkest: Array  # mean of the darkest parts


def cell_light(fine: Array) -> CellLight:
    """Return the light of each cell.

    Args:
        fine: (rows * PARTS, columns * PARTS) mean light of the parts.
    """
    return CellLight(*_summed_up(fine, _EXCHANGES))


def _exchanges(count: int) -> NDArray[np.int32]:
    """Return which of ``count`` values, a power of two, to compare and exchange in turn to sort them.

    Source: merge exchange (Batcher 1968; Knuth, The Art of Computer Programming 3, 5.2.2, algorithm M).

    >>> _exchanges(2).tolist()
    [[0, 1]]
    """
    pairs = []
    size = count // 2
    while size:
        step, rest, gap = count // 2, 0, size
        while True:
            pairs += [(k, k + gap) for k in range(count - gap) if k & size == rest]
            if step == size:
                break
            gap, step, rest = step - size, step // 2, size
        size //= 2
    return np.array(pairs, np.int32)


_EXCHANGES = _exchanges(PARTS * PARTS)


@njit(cache=True, nogil=True)
def _summed_up(fine: Array, exchanges: NDArray[np.int32]) -> tuple[Array, Array, Array]:
    """Return top, body and darkest; a row of cells is sorted at once, so that no branch is guessed wrong."""
    rows, columns = fine.shape[0] // PARTS, fine.shape[1] // PARTS
    top = np.zeros((rows, columns), np.float32)
    body, darkest = np.zeros_like(top), np.zeros_like(top)
    parts = np.empty((PARTS * PARTS, columns), np.float32)
    for row in range(rows):
        for part in range(len(parts)):
            line = fine[row * PARTS + part // PARTS]
            for column in range(columns):
                parts[part, column] = line[column * PARTS + part % PARTS]
        for pair in range(len(exchanges)):
            _exchange(parts[exchanges[pair, 0]], parts[exchanges[pair, 1]])
        for part in range(_DARKEST_COUNT):
            darkest[row] += parts[part] / np.float32(_DARKEST_COUNT)
        for part in range(len(parts) - _TOP_COUNT, len(parts)):
            top[row] += parts[part] / np.float32(_TOP_COUNT)
        _mean_above(parts, _AS_BRIGHT * top[row], body[row])
    return top, body, darkest


@njit(cache=True, nogil=True)
def _exchange(low: Array, high: Array) -> None:
    """Put the lower of each two values into the first row, the higher into the second."""
    for column in range(len(low)):
        a, b = low[column], high[column]
        low[column], high[column] = (b if b < a else a), (a if b < a else b)


@njit(cache=True, nogil=True)
def _mean_above(parts: Array, level: Array, mean: Array) -> None:
    """Set the mean of those values in each column that lie above its level."""
    count = np.zeros(len(level), np.float32)
    for part in range(len(parts)):
        for column in range(len(level)):
            counts = np.float32(parts[part, column] > level[column])
            mean[column] += counts * parts[part, column]
            count[column] += counts
    for column in range(len(level)):
        mean[column] /= max(count[column], np.float32(1))
