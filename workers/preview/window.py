"""The board's own part of a height field."""

from __future__ import annotations

import math
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.values.design import Board
from workers.values.height_field import HeightField

Floats = NDArray[np.float32]

THROUGH_SLACK_MM = 0.02  # this close to the underside counts as right through
_EDGE_CELLS = 1.01  # so near to the board's edge the cut round it may reach
_NEAR_BY = np.ones((5, 5), np.uint8)  # cells that have some inside of those at the edge
_WHOLE_CELL = 1e-6  # of a cell: a field laid on the board's corner needs no resampling


def board_window(field: HeightField, board: Board) -> Floats:
    """Return depth in cells from the board's lower left corner on; row 0 has the lowest y.

    Where the field does not reach the board's edge the face is untouched. The last
    row and column may reach past the board by part of a cell.

    Args:
        field: Depth on a grid, mm, anywhere round the board.
        board: The board, its lower left corner at 0, 0.
    """
    rows = math.ceil(board.height_mm / field.cell_mm - _WHOLE_CELL)
    columns = math.ceil(board.width_mm / field.cell_mm - _WHOLE_CELL)
    by_rows = _resampled(field.depth_mm, -field.bottom_mm / field.cell_mm, rows)
    return _resampled(by_rows.T, -field.left_mm / field.cell_mm, columns).T


def without_cutout(depth_mm: Floats, board: Board, cell_mm: float) -> Floats:
    """Return the depth without the cut round the board's edge and its tabs, so that the face ends clean.

    Along the edge the depth is the least near by: that of the face, or of ground that runs out over the edge.
    Beside the board it is 0, or with such ground no deeper than what is carved on the board.

    Args:
        depth_mm: The board's window, row 0 lowest.
        board: The board.
        cell_mm: Side of a cell.
    """
    kept = np.array(depth_mm, dtype=np.float32, order="C")
    least_mm = cv2.erode(kept, _NEAR_BY).reshape(-1)
    flat, through_mm = kept.reshape(-1), board.thickness_mm - THROUGH_SLACK_MM
    rim = _rim(kept.shape, board, cell_mm)
    cut = np.flatnonzero(rim & (kept > 0))  # of a list: much the quicker way
    row, column = np.divmod(cut, kept.shape[1])
    beyond_mm = outside_mm(board, (column + 0.5) * cell_mm, (row + 0.5) * cell_mm)
    inside = cut[beyond_mm <= -_EDGE_CELLS * cell_mm]
    beside = cut[beyond_mm >= _EDGE_CELLS * cell_mm]
    at_edge = cut[np.abs(beyond_mm) < _EDGE_CELLS * cell_mm]
    deepest_mm = 0.0
    if least_mm[at_edge].max(initial=0.0) > 0:  # ground runs out over the edge
        carved_mm = np.concatenate([kept[~rim], flat[inside]])
        deepest_mm = carved_mm.max(initial=0.0, where=carved_mm < through_mm)
    flat[beside] = np.where(flat[beside] < through_mm, np.minimum(flat[beside], deepest_mm), 0.0)
    flat[at_edge] = least_mm[at_edge]
    return kept


def _rim(shape: tuple[int, ...], board: Board, cell_mm: float) -> NDArray[np.bool_]:
    """Return the cells that may be near the board's edge or beyond it: all but a cross in its middle."""
    rim = np.ones(shape, np.bool_)
    narrow, wide = 3, 3 + math.ceil(board.corner_radius_mm / cell_mm)
    rim[wide:-wide, narrow:-narrow] = False
    rim[narrow:-narrow, wide:-wide] = False
    return rim


def outside_mm(board: Board, x_mm: NDArray[Any], y_mm: NDArray[Any]) -> NDArray[Any]:
    """Return how far points lie outside the board's edge, negative inside.

    Args:
        board: The board.
        x_mm: Of the points; any shape that fits y's.
        y_mm: Of the points.

    Source: signed distance of a rounded box: that of the box of corner centres, less the radius.
    """
    radius = board.corner_radius_mm
    past_x = np.abs(x_mm - board.width_mm / 2) - (board.width_mm / 2 - radius)
    past_y = np.abs(y_mm - board.height_mm / 2) - (board.height_mm / 2 - radius)
    beyond = np.sqrt(np.maximum(past_x, 0) ** 2 + np.maximum(past_y, 0) ** 2)
    distance: NDArray[Any] = beyond + np.minimum(np.maximum(past_x, past_y), 0) - radius
    return distance


def _resampled(depth_mm: Floats, start: float, count: int) -> Floats:
    """Rows from a fractional row on, between two rows by their mean; 0 beyond the field."""
    first = math.floor(start + _WHOLE_CELL)
    share = np.float32(max(0.0, start - first))
    taken = _rows(depth_mm, first, count)
    if share < _WHOLE_CELL:
        return taken
    mixed: Floats = taken * (1 - share) + _rows(depth_mm, first + 1, count) * share
    return mixed


def _rows(depth_mm: Floats, first: int, count: int) -> Floats:
    low, high = max(first, 0), min(first + count, len(depth_mm))
    if (low, high) == (first, first + count):
        return depth_mm[low:high]
    rows = np.zeros((count, depth_mm.shape[1]), dtype=np.float32)
    if low < high:
        rows[low - first : high - first] = depth_mm[low:high]
    return rows
