"""Fewer points: trade.md I-22 (Ramer 1972, Douglas and Peucker 1973; run there in a general library)."""

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely.geometry import LineString

from workers.geometry.path_simplification import simplified

CASE = np.array(
    [(0, 0), (1, 0.1), (2, -0.1), (3, 5), (4, 6), (5, 7), (6, 8.1), (7, 9), (8, 9), (9, 9)], dtype=float
)


def test_the_published_case() -> None:
    """Ten points within 1 come down to these five (I-22)."""
    assert simplified(CASE, 1.0).tolist() == [[0, 0], [2, -0.1], [3, 5], [7, 9], [9, 9]]


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 10_000), st.sampled_from([0.01, 0.1, 1.0]))
def test_no_point_is_farther_than_the_tolerance(seed: int, tolerance_mm: float) -> None:
    """A general geometry library measures every dropped point to the new line."""
    points_mm = np.cumsum(np.random.default_rng(seed).normal(0, 1, (60, 2)), axis=0)

    fewer_mm = simplified(points_mm, tolerance_mm)

    line = LineString(fewer_mm)
    assert float(shapely.distance(shapely.points(points_mm), line).max()) <= tolerance_mm + 1e-9
    assert fewer_mm[0].tolist() == points_mm[0].tolist()
    assert fewer_mm[-1].tolist() == points_mm[-1].tolist()


def test_height_counts_as_much_as_place() -> None:
    """A dip straight below a straight line in plan stays."""
    path_mm: NDArray[np.float64] = np.array([[0.0, 0, 0], [5, 0, -2], [10, 0, 0]])

    assert len(simplified(path_mm, 0.5)) == 3
