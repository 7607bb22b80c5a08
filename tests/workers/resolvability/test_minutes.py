"""How long the V-bit runs, about."""

import math
from dataclasses import replace

import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, incise, region, vee
from workers.cutting_data.feeds import cutting_data
from workers.resolvability.minutes import vee_minutes
from workers.values.cutting_plan import OperationKind

CUT = incise(90, 2.5, 0.2)
QUICK = replace(MACHINE, acceleration_mm_per_s2=math.inf, spin_up_s=0.0)


def feed_mm_per_min() -> float:
    """Return the feed of the bit in the material."""
    return cutting_data(vee(90, 0.2), BASSWOOD, MACHINE, OperationKind.INCISE).feed_mm_per_min


def test_without_losses_it_is_the_length_at_feed_and_one_lift() -> None:
    """A stroke 200 x 2 mm, closed form: 198 mm of middle and four spurs that come up from 0.9 mm."""
    spurs_mm = 4 * 0.9 * math.sqrt(3)  # 0.9 along x, along y and down: to where the tip is as wide
    minutes = vee_minutes(region(box(0, 0, 200, 2)), CUT, BASSWOOD, QUICK)

    lift_min = minutes - (198 + spurs_mm) / feed_mm_per_min()
    assert 0.2 < lift_min * 60 < 2.0


def test_a_brisker_machine_and_less_ink_take_less() -> None:
    """Twice the stroke takes more, a slower acceleration takes more, no ink takes nothing."""
    one, two = region(box(0, 0, 200, 2)), region(box(0, 0, 200, 2), box(0, 5, 200, 7))

    minutes = vee_minutes(one, CUT, BASSWOOD, MACHINE)

    assert vee_minutes(two, CUT, BASSWOOD, MACHINE) > 1.3 * minutes
    assert vee_minutes(one, CUT, BASSWOOD, replace(MACHINE, acceleration_mm_per_s2=100)) > minutes
    assert vee_minutes(region(), CUT, BASSWOOD, MACHINE) == 0


def test_the_walls_of_a_floor_are_counted() -> None:
    """A block 40 x 20 mm: a wall round 34.8 x 14.8 mm and four spurs of 2.5 mm each way; no spine."""
    minutes = vee_minutes(region(box(0, 0, 40, 20)), CUT, BASSWOOD, QUICK)

    cut_mm = 2 * (34.8 + 14.8) + 4 * 2.5 * math.sqrt(3)
    lifts_min = minutes - cut_mm / feed_mm_per_min()
    assert 0 < lifts_min * 60 < 4 * 2.0


def test_at_twice_the_size_a_stroke_takes_about_twice_as_long() -> None:
    """The scale is that of the drawing to be cut."""
    small, large = region(box(0, 0, 100, 1)), region(box(0, 0, 200, 2))

    assert vee_minutes(small, CUT, BASSWOOD, MACHINE, scale=2.0) == pytest.approx(
        vee_minutes(large, CUT, BASSWOOD, MACHINE), rel=0.01
    )
