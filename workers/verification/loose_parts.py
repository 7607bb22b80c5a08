"""Pieces of the stock that nothing holds any more: standing cells that no standing cells join to the rest.

Cells that touch at a corner only do not hold each other. Runs of standing cells are found row by row, and
those that lie over each other in neighbouring rows are joined (memory: Rosenfeld and Pfaltz 1966, who join
cell by cell).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.verification.grid import Grid

_ROW, _FIRST, _PAST, _PIECE = range(4)  # columns of the table of runs


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseParts:
    """Pieces cut free all round."""

    count: int
    largest_mm2: float
    at_mm: tuple[float, float]  # a place in the largest, near its middle if that is in it


def loose_parts(
    depth_mm: NDArray[np.float32], through_mm: float, least_mm2: float, grid: Grid
) -> LooseParts | None:
    """Return the pieces that are cut free within the stock; None if there are none of that size.

    What reaches the rim of the grid is the stock around the board; the board is what fills most of its place.

    Args:
        depth_mm: The carved depth.
        through_mm: From this depth on nothing stands.
        least_mm2: Smaller pieces do not count.
        grid: Where its cells are.
    """
    rows, columns = depth_mm.shape
    runs = _standing_runs(depth_mm, np.float32(through_mm))
    if len(runs) == 0:
        return None
    pieces = runs[:, _PIECE]
    sizes = np.bincount(pieces, weights=runs[:, _PAST] - runs[:, _FIRST])
    on_rim = np.isin(runs[:, _ROW], (0, rows - 1)) | (runs[:, _FIRST] == 0) | (runs[:, _PAST] == columns)
    is_loose = (sizes > 0) & (sizes * grid.cell_mm**2 >= least_mm2)
    is_loose[pieces[on_rim]] = False
    is_loose[_board_piece(runs, round(-grid.left_mm / grid.cell_mm), rows, columns)] = False
    found = np.flatnonzero(is_loose)
    if not len(found):
        return None
    largest = found[np.argmax(sizes[found])]
    return LooseParts(
        count=len(found),
        largest_mm2=float(sizes[largest] * grid.cell_mm**2),
        at_mm=_place(runs[pieces == largest], grid),
    )


def _board_piece(runs: NDArray[np.int32], margin: int, rows: int, columns: int) -> int:
    """Return the piece that fills most of the board's place."""
    within = np.minimum(runs[:, _PAST], columns - margin) - np.maximum(runs[:, _FIRST], margin)
    within[(runs[:, _ROW] < margin) | (runs[:, _ROW] >= rows - margin)] = 0
    return int(np.argmax(np.bincount(runs[:, _PIECE], weights=np.maximum(within, 0))))


def _place(runs: NDArray[np.int32], grid: Grid) -> tuple[float, float]:
    """Return a place in a piece, the nearest to its middle."""
    lengths = runs[:, _PAST] - runs[:, _FIRST]
    middle_row = np.average(runs[:, _ROW], weights=lengths)
    middle_column = np.average((runs[:, _FIRST] + runs[:, _PAST] - 1) / 2, weights=lengths)
    columns = np.minimum(np.maximum(np.round(middle_column), runs[:, _FIRST]), runs[:, _PAST] - 1)
    apart = (runs[:, _ROW] - middle_row) ** 2 + (columns - middle_column) ** 2
    row, column = runs[np.argmin(apart), _ROW], columns[np.argmin(apart)]
    x_mm = grid.left_mm + (column + 0.5) * grid.cell_mm
    y_mm = grid.bottom_mm + (row + 0.5) * grid.cell_mm
    return round(float(x_mm), 3), round(float(y_mm), 3)


@njit(cache=True, nogil=True)
def _root(parents: NDArray[np.int32], run: int) -> int:
    while parents[run] != run:
        parents[run] = parents[parents[run]]
        run = parents[run]
    return run


@njit(cache=True, nogil=True)
def _standing_runs(depth_mm: NDArray[np.float32], through_mm: np.float32) -> NDArray[np.int32]:
    """Return each run of standing cells: its row, first column, column past the last, and its piece."""
    rows, columns = depth_mm.shape
    runs = np.zeros((4 * rows + 4, 4), np.int32)
    parents = np.arange(len(runs)).astype(np.int32)
    count, above_first, above_past = 0, 0, 0
    for row in range(rows):
        line = depth_mm[row]
        above, column, row_first = above_first, 0, count
        while column < columns:
            if line[column] >= through_mm:
                column += 1
                continue
            first = column
            while column < columns and line[column] < through_mm:
                column += 1
            if count == len(runs):
                runs = np.concatenate((runs, np.zeros_like(runs)))
                parents = np.concatenate((parents, np.arange(count, 2 * count).astype(np.int32)))
            runs[count, _ROW], runs[count, _FIRST], runs[count, _PAST] = row, first, column
            while above < above_past and runs[above, _PAST] <= first:
                above += 1
            touching = above
            while touching < above_past and runs[touching, _FIRST] < column:
                one, other = _root(parents, touching), _root(parents, count)
                parents[max(one, other)] = min(one, other)
                touching += 1
            count += 1
        above_first, above_past = row_first, count
    for run in range(count):
        runs[run, _PIECE] = _root(parents, run)
    return runs[:count]
