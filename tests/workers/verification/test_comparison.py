"""Carved against designed, cell by cell."""

import numpy as np
import pytest

from workers.verification.comparison import compare
from workers.verification.grid import Grid

GRID = Grid(left_mm=0.0, bottom_mm=0.0, right_mm=0.4, top_mm=0.4, cell_mm=0.1)


@pytest.mark.parametrize("thickness_mm", [19.05, 12.7, 18.0])
def test_past_the_board_is_no_overcut_where_the_design_goes_through(thickness_mm: float) -> None:
    """Holes end in the bed, also where single precision cannot hold the board's thickness exactly."""
    designed_mm = np.full((4, 4), thickness_mm, np.float32)
    carved_mm = np.full((4, 4), thickness_mm + 0.3, np.float32)
    found = compare(carved_mm, designed_mm, GRID, thickness_mm, 0.05)
    assert found.overcut.max_mm == 0
    assert found.undercut.max_mm == 0


def test_both_sides_are_measured_where_they_are() -> None:
    """One cell too deep and one not deep enough are told with size and place."""
    designed_mm = np.full((4, 4), 2.0, np.float32)
    carved_mm = designed_mm.copy()
    carved_mm[1, 2], carved_mm[3, 0] = 2.3, 1.9
    found = compare(carved_mm, designed_mm, GRID, 18.0, 0.05)
    assert found.overcut.max_mm == pytest.approx(0.3, abs=1e-6)
    assert found.overcut_at_mm == (0.25, 0.15)
    assert found.undercut.max_mm == pytest.approx(0.1, abs=1e-6)
    assert found.undercut_at_mm == (0.05, 0.35)
    assert found.overcut.area_mm2 == pytest.approx(0.01)
