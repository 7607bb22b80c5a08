"""The board's edge and its border, on round boards above all."""

from __future__ import annotations

import math

import pytest

from tests.support.specimens import board
from workers.layout.board_outline import board_outline, border_region
from workers.values.placement import BorderLine


@pytest.mark.parametrize("side_mm", [107.86, 165.48, 100.0, 63.5, 80.1])
def test_a_round_board_has_a_round_border(side_mm: float) -> None:
    """Corners of half the side leave a disc: its border is a ring, whatever rounding does where arcs meet."""
    disc = board(side_mm, side_mm, corner_radius_mm=side_mm / 2)

    ring = border_region(disc, BorderLine(inset_mm=6.79, width_mm=4.57)).polygons

    outer_mm = side_mm / 2 - 6.79
    assert ring.is_valid
    assert ring.area == pytest.approx(math.pi * (outer_mm**2 - (outer_mm - 4.57) ** 2), rel=1e-3)


@pytest.mark.parametrize("height_mm", [30.1, 75.5])
def test_rounded_ends_and_square_corners_are_whole(height_mm: float) -> None:
    """Ends that are half circles, and corners without a radius, each have their closed form's area."""
    ends = board_outline(board(107.86, height_mm, corner_radius_mm=height_mm / 2))
    square = board_outline(board(107.86, height_mm))

    radius_mm = height_mm / 2
    assert ends.is_valid
    assert ends.area == pytest.approx(107.86 * height_mm - (4 - math.pi) * radius_mm**2, rel=1e-3)
    assert len(square.exterior.coords) == 5
