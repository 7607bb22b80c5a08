"""Which cells lie inside an area, also when outlines run exactly through their centres."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from workers.values.region import Region
from workers.verification.designed_depth import inside_of
from workers.verification.grid import Grid

GRID = Grid(left_mm=-1.0, bottom_mm=-1.0, right_mm=5.0, top_mm=5.0, cell_mm=0.1)
X, Y = np.meshgrid(GRID.left_mm + (np.arange(60) + 0.5) * 0.1, GRID.bottom_mm + (np.arange(60) + 0.5) * 0.1)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=3, max_size=9, unique=True),
    st.sampled_from([0.0, 0.05, 0.031]),
)
def test_no_row_of_cells_leaks(corners: list[tuple[int, int]], shift: float) -> None:
    """Corners on rows of centres count once: beyond rounding of the edge, the general library agrees."""
    hull = shapely.MultiPoint([(x / 10 + shift, y / 10 + shift) for x, y in corners]).convex_hull
    if hull.area == 0:
        return
    inside = inside_of(Region(shapely.MultiPolygon([hull])), GRID)
    clear_of_edge = shapely.distance(hull.boundary, shapely.points(X, Y)) > 1e-9
    assert (inside == shapely.contains_xy(hull, X, Y))[clear_of_edge].all()


@pytest.mark.parametrize("thickness_mm", [18.0, 19.05])
def test_a_square_board_has_no_cell_outside(thickness_mm: float) -> None:
    """A board inset by half a cell has its edge on a row of centres; nothing beside it is inside."""
    board = shapely.box(0, 0, 4.0, 3.0 + thickness_mm / 100).buffer(-0.05)
    inside = inside_of(Region(shapely.MultiPolygon([board])), GRID)
    assert not inside[:, X[0] > 4.0].any()
    assert not inside[:, X[0] < 0.0].any()
