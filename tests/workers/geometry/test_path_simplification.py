"""Paths of special form."""

import numpy as np

from workers.geometry.path_simplification import kept, simplified


def test_a_closed_path_keeps_its_far_side() -> None:
    """Its ends are one point, so the first cut is where it is farthest from that."""
    square_mm = np.array([[0.0, 0], [5, 0], [10, 0], [10, 10], [0, 10], [0, 0]])

    assert simplified(square_mm, 0.1).tolist() == [[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]]


def test_a_spur_that_doubles_back_stays() -> None:
    """Beyond the end of its line a point is measured to the end, not to the line."""
    spur_mm = np.array([[0.0, 0], [20, 0], [10, 0]])

    assert len(simplified(spur_mm, 0.1)) == 3


def test_one_and_two_points_are_left_alone() -> None:
    """There is nothing to leave out."""
    assert len(simplified(np.zeros((1, 3)), 1.0)) == 1
    assert len(simplified(np.array([[0.0, 0], [0, 0]]), 1.0)) == 2


def test_paths_in_one_array_do_not_touch_each_other() -> None:
    """The last point of one path and the first of the next both stay."""
    points_mm = np.array([[0.0, 0], [1, 0], [2, 0], [2, 0.1], [1, 0.1], [0, 0.1]])

    stays = kept(points_mm, np.array([0, 3, 6], np.int32), 0.5)

    assert stays.tolist() == [True, False, True, True, False, True]
