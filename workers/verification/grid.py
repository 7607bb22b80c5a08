"""Where the cells of a proof lie."""

from __future__ import annotations

import math
from dataclasses import dataclass

from workers.errors import ParameterOutOfRangeError
from workers.values.cuts import CutoutCut
from workers.values.design import Board
from workers.verification.tolerances import CELL_MM, LARGEST_FIELD_CELLS

_MARGIN_MM = 2.0  # beyond the widest groove round the board
_CELL_STEP_MM = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Square cells over the board and what is cut beside it."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float
    cell_mm: float

    @property
    def rows(self) -> int:
        """How many rows there are."""
        return max(round((self.top_mm - self.bottom_mm) / self.cell_mm), 1)

    @property
    def columns(self) -> int:
        """How many columns there are."""
        return max(round((self.right_mm - self.left_mm) / self.cell_mm), 1)

    def centre_of(self, row: int, column: int) -> tuple[float, float]:
        """Return the place of a cell's centre, to a micrometre."""
        x_mm = self.left_mm + (column + 0.5) * self.cell_mm
        y_mm = self.bottom_mm + (row + 0.5) * self.cell_mm
        return round(x_mm, 3), round(y_mm, 3)


def grid_over(board: Board, cutout: CutoutCut | None, cell_mm: float | None) -> Grid:
    """Return the grid for a board, with room for the bit that goes round it.

    Args:
        board: Its size.
        cutout: How it is cut free, if it is.
        cell_mm: Side of a cell; None chooses 0.1 mm, or as much more as a large board needs.

    Raises:
        ParameterOutOfRangeError: Such small cells would be too many.
    """
    margin_mm = _MARGIN_MM + (cutout.reach_mm if cutout else 0.0)
    width_mm, height_mm = board.width_mm + 2 * margin_mm, board.height_mm + 2 * margin_mm
    finest_mm = math.sqrt(width_mm * height_mm / LARGEST_FIELD_CELLS)
    if cell_mm is None:
        cell_mm = max(CELL_MM, math.ceil(finest_mm / _CELL_STEP_MM) * _CELL_STEP_MM)
    elif not cell_mm >= finest_mm:
        raise ParameterOutOfRangeError(
            f"cells of {cell_mm:g} mm on a board of {board.width_mm:g} x {board.height_mm:g} mm",
            remedy=f"choose cells of {finest_mm:.3f} mm or more, or none",
        )
    margin_mm = math.ceil(margin_mm / cell_mm) * cell_mm
    return Grid(
        left_mm=-margin_mm,
        bottom_mm=-margin_mm,
        right_mm=-margin_mm + math.ceil((board.width_mm + 2 * margin_mm) / cell_mm - 1e-9) * cell_mm,
        top_mm=-margin_mm + math.ceil((board.height_mm + 2 * margin_mm) / cell_mm - 1e-9) * cell_mm,
        cell_mm=cell_mm,
    )
