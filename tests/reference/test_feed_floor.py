"""The floor of a V-bit's minutes that the benchmark of paths measures against, in closed forms."""

import math
from dataclasses import replace

import pytest
from shapely.geometry import box

from tests.benchmarks.feed_floor import feed_floor
from tests.support.specimens import mill, region, vee
from workers.cutting_data import tables

MACHINE = tables.MACHINES["bench-600"]
AT_ONCE = replace(MACHINE, acceleration_mm_per_s2=1e12, max_plunge_mm_per_min=1e9)
FEED_MM_PER_MIN = 3000.0
MILL = mill(3.175)


def test_a_stroke_is_its_middle_and_four_corners() -> None:
    """60 x 4 mm under 90 degrees: 56 mm of middle, and four branches that rise 2 mm over 2 sqrt 2 mm."""
    floor = feed_floor(region(box(0, 0, 60, 4)), vee(90), MILL, 5.0, FEED_MM_PER_MIN, AT_ONCE)

    way_mm = 56 + 4 * math.sqrt(2**2 + 8)
    assert floor.at_feed_min == pytest.approx(way_mm / FEED_MM_PER_MIN, rel=1e-6)
    assert floor.on_machine_min == pytest.approx(floor.at_feed_min, rel=1e-4)


def test_a_milled_floor_is_its_walls_and_what_the_mill_leaves_in_corners() -> None:
    """V-08: in a square corner a radius r leaves (1 - pi/4) r2; less half a step along both walls."""
    floor = feed_floor(region(box(0, 0, 60, 40)), vee(90), MILL, 2.0, FEED_MM_PER_MIN, AT_ONCE)

    step_mm, radius_mm = 2 * 0.025, MILL.diameter_mm / 2
    left_mm2 = (1 - math.pi / 4) * radius_mm**2
    walls_mm = 2 * (56 + 36)
    corners_mm = 4 * math.sqrt(2**2 + 8)
    low_mm = walls_mm + corners_mm + 4 * (left_mm2 - radius_mm * step_mm) / step_mm
    high_mm = walls_mm + corners_mm + 4 * left_mm2 / step_mm
    assert low_mm <= floor.at_feed_min * FEED_MM_PER_MIN <= high_mm


def test_on_the_machine_it_is_longer_by_what_slopes_and_turns_cost() -> None:
    """Branches at 1000 mm/min of z, and nothing else: a straight stroke is entered and left at speed."""
    floor = feed_floor(region(box(0, 0, 60, 4)), vee(90), MILL, 5.0, FEED_MM_PER_MIN, MACHINE)

    branch_min = 2 / MACHINE.max_plunge_mm_per_min
    assert floor.on_machine_min == pytest.approx(56 / FEED_MM_PER_MIN + 4 * branch_min, rel=1e-4)
