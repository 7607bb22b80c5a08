"""Where the carving is finest: where most edges lie close together, in the middle of what is seen."""

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
_FINE_MM = 1.5  # edges this near to each other make detail fine: a line alone has but its own two
_SEEN_SHARE = 0.25  # of the box's sides: what lies farther from its middle counts for little


def finest_place_mm(
    depth_mm: Floats, cell_mm: float, board: Board, wide_mm: float, high_mm: float
) -> tuple[float, float]:
    """Return the middle of the box of this size, within the board, that has the finest detail.

    Each place counts by the square of the edges round it, so that fine lettering and close strokes outweigh
    long lines, and the more the nearer it is to the box's middle, so that none of it is cut off at a side.

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
    coarse = np.asarray(cv2.resize(edges, (columns, rows), interpolation=cv2.INTER_AREA), dtype=np.float32)
    step_mm = (board.width_mm / columns, board.height_mm / rows)
    size = tuple(
        max(1, min(side, round(box_mm / one_mm)))
        for side, box_mm, one_mm in zip((columns, rows), (wide_mm, high_mm), step_mm, strict=True)
    )
    fine = _blurred(coarse, _FINE_MM / step_mm[0], _FINE_MM / step_mm[1]) ** 2
    detail = _blurred(fine, _SEEN_SHARE * size[0], _SEEN_SHARE * size[1])
    if float(detail.max()) <= 0:
        return board.width_mm / 2, board.height_mm / 2
    left, low = size[0] // 2, size[1] // 2  # the box stays on the board
    within = detail[low : rows - (size[1] - low) + 1, left : columns - (size[0] - left) + 1]
    row, column = divmod(int(within.argmax()), within.shape[1])
    return (column + size[0] / 2) * step_mm[0], (row + size[1] / 2) * step_mm[1]


def _blurred(seen: Floats, across: float, up: float) -> Floats:
    """Return what lies about each place, near things more than far ones; nothing is beyond the picture."""
    spread = cv2.GaussianBlur(seen, (0, 0), sigmaX=across, sigmaY=up, borderType=cv2.BORDER_CONSTANT)
    return np.asarray(spread, dtype=np.float32)


def box_side_mm(board: Board) -> float:
    """Return how wide a look at the finest detail is: a seventh of the board, 24 to 64 mm."""
    return min(max(math.sqrt(board.width_mm * board.height_mm) / 5, 24.0), 64.0)
