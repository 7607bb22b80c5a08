"""Depth as a picture that other programs can measure in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from workers.preview.png import encode_png
from workers.preview.window import board_window
from workers.values.design import Board
from workers.values.height_field import HeightField

_LEVELS = 65535
_FINE_MM_PER_LEVEL = 0.001
_COARSE_MM_PER_LEVEL = 0.01  # for boards thicker than 65 mm; reaches 655 mm


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthMap:
    """A 16-bit grey PNG of the board's box: 0 is the face, larger is deeper; top row first."""

    data: bytes
    mm_per_px: float
    mm_per_level: float


def write_depth_map(field: HeightField, board: Board) -> DepthMap:
    """Return the depth map of a board, one pixel a cell, its lower left corner at the picture's.

    Args:
        field: Depth on a grid, mm.
        board: The board whose box is shown.
    """
    depth_mm = board_window(field, board)
    deepest_mm = float(depth_mm.max(initial=0.0))
    mm_per_level = _FINE_MM_PER_LEVEL if deepest_mm <= _LEVELS * _FINE_MM_PER_LEVEL else _COARSE_MM_PER_LEVEL
    levels = np.rint(depth_mm[::-1] * np.float32(1 / mm_per_level))
    pixels = np.clip(levels, 0, _LEVELS).astype(np.uint16)
    return DepthMap(
        data=encode_png(pixels, field.cell_mm), mm_per_px=field.cell_mm, mm_per_level=mm_per_level
    )
