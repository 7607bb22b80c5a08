"""The board's edge, and lines parallel to it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from workers.errors import ParameterOutOfRangeError
from workers.values.design import Board
from workers.values.placement import BorderLine
from workers.values.region import Region

TOLERANCE_MM = 0.005  # chord to arc
_SAME_MM = 1e-9  # corners nearer to each other are one: where arcs meet, they differ by rounding


def board_outline(board: Board, inset_mm: float = 0.0) -> Polygon:
    """Return the board's edge, or the line this far inside it, corners rounded, anticlockwise.

    A line inside has smaller corner radii, and square corners from the radius on.

    Args:
        board: The board, mm.
        inset_mm: How far inside the edge; less than half of the shorter side.
    """
    left, bottom = inset_mm, inset_mm
    right, top = board.width_mm - inset_mm, board.height_mm - inset_mm
    radius_mm = max(0.0, board.corner_radius_mm - inset_mm)
    corners = [
        (right - radius_mm, bottom + radius_mm, -90),
        (right - radius_mm, top - radius_mm, 0),
        (left + radius_mm, top - radius_mm, 90),
        (left + radius_mm, bottom + radius_mm, 180),
    ]
    points_mm = np.concatenate([_arc(x, y, radius_mm, start) for x, y, start in corners])
    steps_mm = points_mm - np.roll(points_mm, 1, axis=0)
    return Polygon(points_mm[np.hypot(steps_mm[:, 0], steps_mm[:, 1]) > _SAME_MM])


def border_region(board: Board, border: BorderLine) -> Region:
    """Return the ink of a line all round the board.

    Raises:
        ParameterOutOfRangeError: The line would meet itself in the middle.
    """
    inner_mm = border.inset_mm + border.width_mm
    shorter_mm = min(board.width_mm, board.height_mm)
    if 2 * inner_mm >= shorter_mm:
        raise ParameterOutOfRangeError(
            f"a border {border.width_mm:g} mm wide, {border.inset_mm:g} mm from the edge, "
            f"leaves nothing inside it on a board whose shorter side is {shorter_mm:g} mm",
            field="/inputs/border",
            remedy=f"Keep inset and width together below {shorter_mm / 2:g} mm.",
        )
    outer, inner = board_outline(board, border.inset_mm), board_outline(board, inner_mm)
    return Region(MultiPolygon([Polygon(outer.exterior, [inner.exterior])]))


def _arc(x_mm: float, y_mm: float, radius_mm: float, start_deg: float) -> NDArray[np.float64]:
    """A quarter turn anticlockwise as chords, both ends included; a point for radius 0."""
    if radius_mm <= 0:
        return np.array([[x_mm, y_mm]])
    widest_rad = 2 * math.acos(max(0.0, 1 - TOLERANCE_MM / radius_mm))
    steps = max(1, math.ceil(math.pi / 2 / widest_rad))
    angles_rad = math.radians(start_deg) + np.linspace(0, math.pi / 2, steps + 1)
    return np.column_stack((x_mm + radius_mm * np.cos(angles_rad), y_mm + radius_mm * np.sin(angles_rad)))
