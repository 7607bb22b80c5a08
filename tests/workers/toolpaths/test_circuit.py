"""Closed lines: places along them, and ramps."""

import math

import numpy as np
import pytest
from shapely.geometry import LineString

from workers.toolpaths.circuit import Circuit, ramp_length_mm, ramped_round

SQUARE = Circuit(np.array([[0.0, 0], [10, 0], [10, 10], [0, 10], [0, 0]]))


@pytest.mark.parametrize(
    ("angle_deg", "length_mm"), [(1, 57.289962), (2, 28.636253), (3, 19.081137), (5, 11.430052)]
)
def test_ramp_lengths(angle_deg: float, length_mm: float) -> None:
    """Length for each unit of depth, trade.md C-12 (derived)."""
    assert ramp_length_mm(1.0, angle_deg) == pytest.approx(length_mm, abs=1e-6)


def test_places_go_on_past_one_round_and_back_before_it() -> None:
    """45 on a round of 40 is 5; -5 is 35."""
    assert SQUARE.length_mm == 40
    assert SQUARE.at(np.array([45.0, -5.0])).tolist() == [[5, 0], [0, 5]]


def test_all_corners_on_the_way_are_places() -> None:
    """From before the start to past one round."""
    assert SQUARE.places(-5, 42, 3).tolist() == [-5, 0, 3, 10, 20, 30, 40, 42]


def test_beginning_elsewhere_changes_no_shape() -> None:
    """The nearest point to (12, 4) is on the right side."""
    turned = SQUARE.from_nearest(np.array([12.0, 4.0]))

    assert turned.points_mm[0].tolist() == [10, 4]
    assert turned.points_mm[-1].tolist() == [10, 4]
    assert turned.length_mm == pytest.approx(40)


def test_a_ramp_is_never_steeper_than_its_angle_and_a_whole_round_follows() -> None:
    """Down 1 mm at 3 degrees to the start, then 40 mm level, ending where the level began."""
    path_mm = ramped_round(SQUARE, -1.0, -2.0)
    steps_mm = np.diff(path_mm, axis=0)
    slopes_deg = np.degrees(np.arctan2(-steps_mm[:, 2], np.hypot(steps_mm[:, 0], steps_mm[:, 1])))

    assert path_mm[0, 2] == -1.0
    assert slopes_deg.max() == pytest.approx(3.0)
    level = path_mm[path_mm[:, 2] == -2.0]
    assert LineString(level[:, :2]).length == pytest.approx(40)
    assert level[0, :2].tolist() == level[-1, :2].tolist()


def test_a_tiny_ring_is_not_turned_round_for_ever() -> None:
    """A ring of 0.4 mm would need 48 rounds; 30 are enough."""
    tiny = Circuit(SQUARE.points_mm / 100)

    path_mm = ramped_round(tiny, 0.0, -1.0)

    assert LineString(path_mm[:, :2]).length == pytest.approx(31 * 0.4)
    assert math.isclose(path_mm[-1, 2], -1.0)
