"""Pieces of the stock that nothing holds any more: standing cells that no standing cells join to the rest.

Cells that touch at a corner only do not hold each other. Connected areas are found in two passes over
the cells: one unites the labels of neighbours, one writes down what came of it (memory: Rosenfeld and
Pfaltz 1966).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.verification.grid import Grid


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
    if not (depth_mm >= through_mm).any():
        return None
    labels, sizes = _labelled(depth_mm, np.float32(through_mm))
    rim = np.unique(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]))
    is_loose = sizes * grid.cell_mm**2 >= least_mm2
    is_loose[rim] = False
    is_loose[0] = False
    margin = round(-grid.left_mm / grid.cell_mm)
    board = np.bincount(labels[margin:-margin, margin:-margin].ravel(), minlength=len(sizes))
    is_loose[np.argmax(board[1:]) + 1 if len(board) > 1 else 0] = False
    found = np.flatnonzero(is_loose)
    if not len(found):
        return None
    largest = found[np.argmax(sizes[found])]
    return LooseParts(
        count=len(found),
        largest_mm2=float(sizes[largest] * grid.cell_mm**2),
        at_mm=_place(labels == largest, grid),
    )


def _place(mask: NDArray[np.bool_], grid: Grid) -> tuple[float, float]:
    rows, columns = np.nonzero(mask)
    nearest = np.argmin((rows - rows.mean()) ** 2 + (columns - columns.mean()) ** 2)
    x_mm = grid.left_mm + (columns[nearest] + 0.5) * grid.cell_mm
    y_mm = grid.bottom_mm + (rows[nearest] + 0.5) * grid.cell_mm
    return round(float(x_mm), 3), round(float(y_mm), 3)


@njit(cache=True, nogil=True)
def _root(parents: NDArray[np.int32], label: int) -> int:
    while parents[label] != label:
        parents[label] = parents[parents[label]]
        label = parents[label]
    return label


@njit(cache=True, nogil=True)
def _labelled(
    depth_mm: NDArray[np.float32], through_mm: np.float32
) -> tuple[NDArray[np.int32], NDArray[np.int64]]:
    """Return a label for each standing cell, 0 for the others, and how many cells each label has."""
    rows, columns = depth_mm.shape
    labels = np.zeros((rows, columns), np.int32)
    parents = np.zeros(1024, np.int32)
    count = 1
    for row in range(rows):
        for column in range(columns):
            if depth_mm[row, column] >= through_mm:
                continue
            left = labels[row, column - 1] if column else 0
            below = labels[row - 1, column] if row else 0
            if left == 0 and below == 0:
                if count == len(parents):
                    parents = np.append(parents, np.zeros(count, np.int32))
                parents[count] = count
                labels[row, column] = count
                count += 1
            elif left == 0 or below == 0 or left == below:
                labels[row, column] = max(left, below)
            else:
                one, other = _root(parents, left), _root(parents, below)
                parents[max(one, other)] = min(one, other)
                labels[row, column] = min(one, other)
    sizes = np.zeros(count, np.int64)
    for row in range(rows):
        for column in range(columns):
            if labels[row, column]:
                labels[row, column] = _root(parents, labels[row, column])
                sizes[labels[row, column]] += 1
    return labels, sizes
