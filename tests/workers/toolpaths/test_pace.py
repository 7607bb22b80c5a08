"""Feeds along paths: full on the level, no faster down into stock than a plunge."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.specimens import MACHINE, PACE
from workers.toolpaths.pace import cut_path, feeds_along, pace_of
from workers.values.material import CuttingData


def feeds(*points: tuple[float, float, float], again: bool = False) -> list[float]:
    """The feeds through points, all for the first time or all again."""
    points_mm = np.array(points)
    return feeds_along(points_mm, np.full(len(points) - 1, again), PACE).tolist()


def test_level_cuts_run_at_the_feed_after_a_plunge() -> None:
    """The first figure is the plunge to the first point."""
    assert feeds((0, 0, -1), (10, 0, -1)) == [500, 1500]


def test_straight_down_is_a_plunge() -> None:
    """All of the motion is downwards."""
    assert feeds((0, 0, 0), (0, 0, -2)) == [500, 500]


def test_a_slope_of_45_degrees_sinks_at_the_plunge_feed() -> None:
    """500 down a minute is 707 along the slope; a multiple of 10 is written."""
    assert feeds((0, 0, 0), (5, 0, -5)) == [500, 700]


def test_up_and_what_was_cut_before_keep_to_the_machine_only() -> None:
    """Straight up, or down again where nothing is left: the z axis at its fastest."""
    assert feeds((0, 0, -5), (0, 0, 0)) == [500, 1000]
    assert feeds((0, 0, 0), (0, 0, -5), again=True) == [500, 1000]


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(*[st.floats(-20, 20)] * 3), min_size=2, max_size=20))
def test_no_piece_is_faster_than_any_limit(points: list[tuple[float, float, float]]) -> None:
    """Feed, plunge and z axis hold for every direction."""
    path = cut_path(np.array(points), PACE)
    steps_mm = np.diff(path.points_mm, axis=0)
    lengths_mm = np.linalg.norm(steps_mm, axis=1)
    vertical = steps_mm[:, 2] / lengths_mm * path.feeds_mm_per_min[1:]

    assert (path.feeds_mm_per_min <= 1500).all()
    assert (vertical >= -500 - 1e-6).all()
    assert (vertical <= 1000 + 1e-6).all()


def test_points_that_rounding_makes_one_are_one() -> None:
    """Coordinates are whole ten-thousandths of a millimetre."""
    path = cut_path(np.array([[0, 0, -1], [0.00001, 0, -1], [1.00004, 0, -1.0]]), PACE)

    assert path.points_mm.tolist() == [[0, 0, -1], [1, 0, -1]]


@pytest.mark.parametrize(
    ("acceleration_mm_per_s2", "lift_s"),
    [(400, 2 * 0.1 + 0.223607), (4000, 2 * (0.04 + 0.00625) + 0.06 + 0.020833)],
)
def test_a_lift_is_worth_what_it_takes(acceleration_mm_per_s2: float, lift_s: float) -> None:
    """Worked: up and down 1 mm at 1500 and 5 mm across at 5000 from rest to rest (trade.md, part 6)."""
    data = CuttingData(
        spindle_rpm=18000, feed_mm_per_min=1500, plunge_mm_per_min=500, pass_depth_mm=3, stepover_fraction=0.4
    )

    pace = pace_of(data, replace(MACHINE, acceleration_mm_per_s2=acceleration_mm_per_s2))

    assert pace.lift_worth_mm == pytest.approx(lift_s * 25, rel=1e-5)
    assert pace.lift_worth_at(2.0) == pytest.approx(pace.lift_worth_mm + 2.0 * (1500 / 1500 + 1500 / 500))
    assert pace.air_worth == pytest.approx(0.3)
