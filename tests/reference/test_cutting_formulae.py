"""Feeds and speeds against published worked cases.

Sources, by the id of the project's collection of outside facts:
C-01 cncshop.eu, calculating feeds and speeds; C-02, C-03 F. D. Jones, Turning and Boring, 1914;
C-04, C-06, V-07 arithmetic; C-10 am.co.za; C-11 and C-14 memory; 2.4 woodworking.about.com.
"""

import math

import pytest

from workers.cutting_data.entries import vee_cutter
from workers.cutting_data.feeds import (
    cutting_data,
    effective_diameter_mm,
    feed_mm_per_min,
    spindle_limit_rpm,
    surface_speed_m_per_min,
)
from workers.cutting_data.tables import BITS, MACHINES, MATERIALS
from workers.values.cutting_plan import OperationKind
from workers.values.frames import MM_PER_INCH


@pytest.mark.parametrize(
    ("rpm", "flutes", "chip_mm", "feed"),
    [
        (18000, 2, 0.1, 3600),  # C-01
        (18000, 2, 0.004 * MM_PER_INCH, 144 * MM_PER_INCH),  # C-04
        (16000, 1, 0.15, 2400),
        (24000, 1, 0.005 * MM_PER_INCH, 120 * MM_PER_INCH),
    ],
)
def test_feed_is_speed_times_flutes_times_chip(rpm: float, flutes: int, chip_mm: float, feed: float) -> None:
    """C-01 and C-04."""
    assert feed_mm_per_min(rpm, flutes, chip_mm) == pytest.approx(feed, rel=1e-12)


@pytest.mark.parametrize(
    ("diameter_mm", "rpm", "speed"),
    [
        (5 * MM_PER_INCH, 45.836624, 60 * 0.3048),  # C-03, first row as published: 60 ft/min, 46 rpm
        (1 * MM_PER_INCH, 343.774677, 90 * 0.3048),
        (0.25 * MM_PER_INCH, 15278.874537, 1000 * 0.3048),
        (25, 381.971863, 30),
        (6.35, 15038.262339, 300),
        (6.35, 18000, 359.084040),
    ],
)
def test_surface_speed(diameter_mm: float, rpm: float, speed: float) -> None:
    """C-02 and C-03."""
    assert surface_speed_m_per_min(diameter_mm, rpm) == pytest.approx(speed, rel=1e-7)


@pytest.mark.parametrize(("angle", "tip", "expected"), [(60, 0.0, 3.464102), (90, 0.2, 6.2)])
def test_a_cone_cuts_as_wide_as_it_stands_deep(angle: float, tip: float, expected: float) -> None:
    """C-06: 3 mm deep."""
    cutter = vee_cutter(
        name="v",
        diameter_mm=12.7,
        included_angle_deg=angle,
        tip_mm=tip,
        cutting_length_mm=None,
        flutes_count=2,
    )
    assert effective_diameter_mm(cutter, 3.0) == pytest.approx(expected, abs=5e-7)


@pytest.mark.parametrize(
    ("inch", "rpm"), [(0.5, 24000), (1, 24000), (1.5, 18000), (2, 18000), (2.25, 16000), (3, 12000)]
)
def test_large_bits_turn_slower(inch: float, rpm: float) -> None:
    """2.4: up to 1 in 24,000; 1 to 2 in 18,000; 2 to 2.5 in 16,000; 2.5 to 3.5 in 12,000."""
    assert spindle_limit_rpm(inch * MM_PER_INCH) == rpm


def test_a_straight_bit_goes_no_deeper_than_its_diameter_in_wood() -> None:
    """C-10: start at one diameter a pass; hardwood on light machines a quarter to a half (memory)."""
    for name, share in (("basswood", 1.0), ("walnut", 0.5)):
        for bit in ("flat-1/16in", "flat-1/8in", "flat-1/4in"):
            data = cutting_data(BITS[bit], MATERIALS[name], MACHINES["bench-600"], OperationKind.CLEAR)
            assert data.pass_depth_mm <= share * BITS[bit].diameter_mm + 1e-9


def test_plunge_and_stepover_are_the_trades() -> None:
    """C-11: plunge a fifth to a half of the feed; C-14: floors step 40 to 50 % (both memory)."""
    for material in MATERIALS.values():
        data = cutting_data(BITS["flat-1/8in"], material, MACHINES["shop-1200"], OperationKind.CLEAR)
        assert 0.2 <= data.plunge_mm_per_min / data.feed_mm_per_min <= 0.5
        assert 0.4 <= data.stepover_fraction <= 0.5


def test_a_balls_stepover_leaves_the_ridge_it_promises() -> None:
    """V-07: h = R - sqrt(R^2 - s^2/4); C-14: finishing 8 to 15 % of the diameter for a 6 mm ball."""
    bit = BITS["ball-6mm"]
    data = cutting_data(bit, MATERIALS["basswood"], MACHINES["bench-600"], OperationKind.CLEAR)
    step_mm = data.stepover_fraction * bit.diameter_mm
    assert 3 - math.sqrt(9 - step_mm**2 / 4) == pytest.approx(0.02, abs=1e-9)
    assert 0.08 <= data.stepover_fraction <= 0.15
