"""Ink made wider by a distance, to a fraction of a pixel.

The edge of the ink is where coverage, taken as linear between pixel centres, is half: a piece of
line in each cell between four centres. Every pixel within reach learns its distance to that line;
the new coverage falls from 1 to 0 across one pixel at the wanted distance, so that its half lies there.

The nearest piece is handed from pixel to neighbour, down the picture and up again, and each measures
its own distance to it: the work grows with the area within reach, not with the reach times the edge.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

_HALF = 127.5


def widened(pixels: NDArray[np.uint8], by_px: float) -> NDArray[np.uint8]:
    """Return a picture (0 ink, 255 paper) whose ink reaches a distance farther.

    Args:
        pixels: Rows and columns; beyond its rim nothing is known, so nothing grows in from there.
        by_px: The distance, px.
    """
    reach_px = max(by_px + 0.5, 1.0)
    distance = _edge_distance(pixels, reach_px)
    is_ink = pixels < _HALF
    signed = np.where(is_ink, -distance, distance)
    paper = np.clip(signed + np.float32(0.5 - by_px), 0.0, 1.0) * np.float32(255.0)
    wider: NDArray[np.uint8] = np.minimum(pixels, np.rint(paper).astype(np.uint8))
    return wider


def reach_rows(by_px: float) -> int:
    """Return how many pixels away an edge may lie and still matter."""
    return math.ceil(by_px) + 3


def _edge_distance(pixels: NDArray[np.uint8], reach_px: float) -> NDArray[np.float32]:
    """Return each pixel centre's distance to the ink's edge, px; a large number beyond the reach.

    Source: the sweeps are those of vector distance transforms (P.-E. Danielsson, "Euclidean distance
    mapping", 1980), with pieces of line instead of pixels as what is near.
    """
    pieces, cells = _edge_pieces(pixels)
    rows, columns = pixels.shape
    nearest = np.full((rows + 2, columns + 2), -1, np.int32)  # a rim of nothing all round
    square = np.full(pixels.shape, 1e12, np.float32)
    _sweep(pieces, cells, nearest, square, np.float32(reach_px * reach_px))
    return np.sqrt(square)


@njit(cache=True, nogil=True)
def _edge_pieces(pixels: NDArray[np.uint8]) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """Return the edge in each cell as x, y, and x, y of its end, px; and the cell's row and column."""
    rows, columns = pixels.shape
    count = 0
    for row in range(rows - 1):
        for column in range(columns - 1):
            ink = _inked_corners(pixels, row, column)
            count += 0 if ink == 0 or ink == 4 else 2
    pieces = np.empty((count, 4), np.float32)
    cells = np.empty((count, 2), np.int32)
    along = np.empty((4, 2), np.float64)
    count = 0
    for row in range(rows - 1):
        for column in range(columns - 1):
            ink = _inked_corners(pixels, row, column)
            if ink == 0 or ink == 4:
                continue
            found, first = _crossings(pixels, row, column, along)
            for start in range(0, found, 2):
                one, other = (start + first) % found, (start + first + 1) % found
                pieces[count, 0], pieces[count, 1] = along[one, 0], along[one, 1]
                pieces[count, 2], pieces[count, 3] = along[other, 0], along[other, 1]
                cells[count, 0], cells[count, 1] = row, column
                count += 1
    return pieces[:count], cells[:count]


@njit(cache=True, nogil=True)
def _crossings(
    pixels: NDArray[np.uint8], row: int, column: int, along: NDArray[np.float64]
) -> tuple[int, int]:
    """Write where the edge crosses a cell's sides, clockwise; return how often, and the first to take."""
    a, b = float(pixels[row, column]), float(pixels[row, column + 1])
    c, d = float(pixels[row + 1, column + 1]), float(pixels[row + 1, column])
    found = 0
    if (a < _HALF) != (b < _HALF):
        along[found, 0], along[found, 1] = column + (_HALF - a) / (b - a), row
        found += 1
    if (b < _HALF) != (c < _HALF):
        along[found, 0], along[found, 1] = column + 1, row + (_HALF - b) / (c - b)
        found += 1
    if (c < _HALF) != (d < _HALF):
        along[found, 0], along[found, 1] = column + (_HALF - d) / (c - d), row + 1
        found += 1
    if (d < _HALF) != (a < _HALF):
        along[found, 0], along[found, 1] = column, row + (_HALF - a) / (d - a)
        found += 1
    # of four crossings, the ink or paper of corner a may reach across to corner c
    first = 3 if found == 4 and (a + b + c + d < 4 * _HALF) != (a < _HALF) else 0
    return found, first


@njit(cache=True, nogil=True)
def _inked_corners(pixels: NDArray[np.uint8], row: int, column: int) -> int:
    """Return how many corners of a cell are ink."""
    upper = int(pixels[row, column] < _HALF) + int(pixels[row, column + 1] < _HALF)
    return upper + int(pixels[row + 1, column] < _HALF) + int(pixels[row + 1, column + 1] < _HALF)


@njit(cache=True, nogil=True)
def _sweep(
    pieces: NDArray[np.float32],
    cells: NDArray[np.int32],
    nearest: NDArray[np.int32],
    square: NDArray[np.float32],
    reach2: np.float32,
) -> None:
    """Give every pixel within reach its nearest piece and the square of its distance, in place."""
    rows = len(square)
    for piece in range(len(pieces)):
        for row in range(cells[piece, 0], cells[piece, 0] + 2):
            for column in range(cells[piece, 1], cells[piece, 1] + 2):
                _offer(pieces, piece, row, column, nearest, square, reach2)
    for row in range(rows):
        _sweep_row(pieces, row, row, nearest, square, reach2)
    for row in range(rows - 1, -1, -1):
        _sweep_row(pieces, row, row + 2, nearest, square, reach2)


@njit(cache=True, nogil=True)
def _sweep_row(
    pieces: NDArray[np.float32],
    row: int,
    swept: int,
    nearest: NDArray[np.int32],
    square: NDArray[np.float32],
    reach2: np.float32,
) -> None:
    """Offer each pixel of a row what the row swept before has, then what its neighbours on both sides have.

    Args:
        pieces: The edge.
        row: The row.
        swept: The one swept before, counted from the rim.
        nearest: Of every pixel, with a rim; changed.
        square: Of every pixel; changed.
        reach2: The square of the reach.
    """
    columns = square.shape[1]
    before, own = nearest[swept], nearest[row + 1]
    for column in range(columns):
        for beside in range(3):
            if before[column + beside] >= 0:
                _offer(pieces, before[column + beside], row, column, nearest, square, reach2)
        if own[column] >= 0:
            _offer(pieces, own[column], row, column, nearest, square, reach2)
    for column in range(columns - 2, -1, -1):
        if own[column + 2] >= 0:
            _offer(pieces, own[column + 2], row, column, nearest, square, reach2)


@njit(cache=True, nogil=True)
def _offer(
    pieces: NDArray[np.float32],
    piece: int,
    row: int,
    column: int,
    nearest: NDArray[np.int32],
    square: NDArray[np.float32],
    reach2: np.float32,
) -> None:
    """Let a pixel take a piece, if it is nearer than what it has and within reach."""
    if piece == nearest[row + 1, column + 1]:
        return
    x0, y0 = pieces[piece, 0], pieces[piece, 1]
    dx, dy = pieces[piece, 2] - x0, pieces[piece, 3] - y0
    x, y = np.float32(column) - x0, np.float32(row) - y0
    t = (x * dx + y * dy) / max(dx * dx + dy * dy, np.float32(1e-12))
    t = min(max(t, np.float32(0.0)), np.float32(1.0))
    off_x, off_y = x - t * dx, y - t * dy
    found = off_x * off_x + off_y * off_y
    if found < square[row, column] and found <= reach2:
        square[row, column] = found
        nearest[row + 1, column + 1] = piece
