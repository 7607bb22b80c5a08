"""A part of the table with the board on it, as pixels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.design import Board

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A box in the board's frame divided into square pixels, top row first."""

    left_mm: float
    top_mm: float
    rows: int
    columns: int
    mm_per_px: float

    def finer(self, times: int) -> Part:
        """Return the same box in pixels this many times smaller."""
        return Part(
            left_mm=self.left_mm,
            top_mm=self.top_mm,
            rows=self.rows * times,
            columns=self.columns * times,
            mm_per_px=self.mm_per_px / times,
        )

    def coarser(self, times: int) -> Part:
        """Return a box from the same corner in pixels this many times larger, which covers this one."""
        return Part(
            left_mm=self.left_mm,
            top_mm=self.top_mm,
            rows=-(-self.rows // times),
            columns=-(-self.columns // times),
            mm_per_px=self.mm_per_px * times,
        )

    def centres(self) -> tuple[Floats, Floats]:
        """Return x as a row and y as a column."""
        side_mm = np.float32(self.mm_per_px)
        x_mm = (
            np.float32(self.left_mm) + (np.arange(self.columns, dtype=np.float32) + np.float32(0.5)) * side_mm
        )
        y_mm = np.float32(self.top_mm) - (np.arange(self.rows, dtype=np.float32) + np.float32(0.5)) * side_mm
        return x_mm[None, :], y_mm[:, None]

    def on_board(self, board: Board) -> tuple[Part, tuple[slice, slice]]:
        """Return the pixels that lie within the board's box, and where they are in this part."""
        first_column, first_row = (
            max(0, round(past_mm / self.mm_per_px))
            for past_mm in (-self.left_mm, self.top_mm - board.height_mm)
        )
        last_column = min(self.columns, round((board.width_mm - self.left_mm) / self.mm_per_px))
        last_row = min(self.rows, round(self.top_mm / self.mm_per_px))
        inner = Part(
            left_mm=self.left_mm + first_column * self.mm_per_px,
            top_mm=self.top_mm - first_row * self.mm_per_px,
            rows=max(1, last_row - first_row),
            columns=max(1, last_column - first_column),
            mm_per_px=self.mm_per_px,
        )
        return inner, (
            slice(first_row, first_row + inner.rows),
            slice(first_column, first_column + inner.columns),
        )


def whole_board(board: Board, long_side_px: int, margin_px: int = 0) -> Part:
    """Return the board with some table round it.

    Args:
        board: The board, its lower left corner at 0, 0.
        long_side_px: Of the picture, margins included.
        margin_px: All round.
    """
    mm_per_px = max(board.width_mm, board.height_mm) / (long_side_px - 2 * margin_px)
    return Part(
        left_mm=-margin_px * mm_per_px,
        top_mm=board.height_mm + margin_px * mm_per_px,
        rows=max(1, round(board.height_mm / mm_per_px)) + 2 * margin_px,
        columns=max(1, round(board.width_mm / mm_per_px)) + 2 * margin_px,
        mm_per_px=mm_per_px,
    )
