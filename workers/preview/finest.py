"""Where the carving is finest: where most edges lie close together."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.preview.window import THROUGH_SLACK_MM
from workers.values.design import Board

Floats = NDArray[np.float32]

_CARVED_FROM_MM = 0.05
_STEP_MM = 0.5  # of the grid on which edges are added up


def finest_place_mm(
    depth_mm: Floats, cell_mm: float, board: Board, wide_mm: float, high_mm: float
) -> tuple[float, float]:
    """Return the middle of the box of this size, within the board, that has the most length of edges.

    A box over fine lettering or close strokes has more of them than one over broad letters.

    Args:
        depth_mm: The board's window, row 0 lowest; its cutout left out.
        cell_mm: Side of a cell.
        board: The board; its middle is returned where nothing is carved.
        wide_mm: Of the box.
        high_mm: Of the box.
    """
    carved = ((depth_mm > _CARVED_FROM_MM) & (depth_mm < board.thickness_mm - THROUGH_SLACK_MM)).astype(
        np.uint8
    )
    edges = cv2.morphologyEx(carved, cv2.MORPH_GRADIENT, np.ones((2, 2), dtype=np.uint8)).astype(np.float32)
    step = max(1, round(_STEP_MM / cell_mm))
    rows, columns = (max(1, side // step) for side in edges.shape)
    coarse = cv2.resize(edges, (columns, rows), interpolation=cv2.INTER_AREA)
    step_mm = (board.width_mm / columns, board.height_mm / rows)
    size = tuple(
        max(1, min(side, round(box_mm / one_mm)))
        for side, box_mm, one_mm in zip((columns, rows), (wide_mm, high_mm), step_mm, strict=True)
    )
    summed = np.asarray(cv2.integral(coarse))
    length = summed[size[1] :, size[0] :] - summed[: -size[1], size[0] :]
    length = length - (summed[size[1] :, : -size[0]] - summed[: -size[1], : -size[0]])
    if float(length.max()) <= 0:
        return board.width_mm / 2, board.height_mm / 2
    row, column = divmod(int(length.argmax()), length.shape[1])
    return (column + size[0] / 2) * step_mm[0], (row + size[1] / 2) * step_mm[1]


def box_side_mm(board: Board) -> float:
    """Return how wide a look at the finest detail is: a seventh of the board, 24 to 64 mm."""
    return min(max(math.sqrt(board.width_mm * board.height_mm) / 5, 24.0), 64.0)
