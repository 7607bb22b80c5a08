"""A bit's picture has the bit's own figures."""

import math

import pytest

from tests.support.specimens import ball, keyhole, mill, vee
from workers.setup_sheet.bit_drawing import BitDrawing, profile_mm
from workers.values.cutter import Drill


@pytest.mark.parametrize(("angle_deg", "tip_mm"), [(60, 0.0), (90, 0.1), (120, 0.5)])
def test_a_cone_is_as_high_as_its_angle_says(angle_deg: float, tip_mm: float) -> None:
    """(12.7 - tip) / 2 / tan(angle / 2), by trigonometry."""
    *_, (_, low_mm), (radius_mm, high_mm) = profile_mm(vee(angle_deg, tip_mm, 12.7, 20))
    assert (low_mm, radius_mm) == (0, 6.35)
    assert high_mm == pytest.approx((12.7 - tip_mm) / 2 / math.tan(math.radians(angle_deg / 2)))


def test_a_ball_is_a_quarter_circle() -> None:
    """Every point is one radius from the middle of the ball."""
    for radius_mm, height_mm in profile_mm(ball(6)):
        assert math.hypot(radius_mm, height_mm - 3) == pytest.approx(3)


def test_an_end_mill_is_square_and_a_drill_pointed() -> None:
    """A twist drill's point is 118 degrees (common practice): 5 mm wide, 2.5 / tan 59 = 1.502 mm high."""
    assert profile_mm(mill(3)) == [(0, 0), (1.5, 0)]
    drill = Drill(name="drill-5mm", diameter_mm=5, cutting_length_mm=40, flutes_count=2)
    assert profile_mm(drill)[-1] == pytest.approx((2.5, 1.502), abs=0.001)


def test_a_keyhole_bit_is_a_tee() -> None:
    """Its head by its figures, then back to the neck."""
    assert profile_mm(keyhole()) == [(0, 0), (4.7625, 0), (4.7625, 4.7625), (2.38125, 4.7625)]


def test_a_bit_too_large_for_its_box_is_drawn_smaller_and_others_at_full_size() -> None:
    """14 x 11 mm: 3.175 mm fits; 25.4 mm is drawn 14 / 25.4; a cone must fit with its shank's beginning."""
    assert BitDrawing(mill(3.175), 2.5, 14, 11).scale == 1
    assert BitDrawing(mill(25.4), 2.5, 14, 11).scale == pytest.approx(14 / 25.4)
    cone = BitDrawing(vee(60, 0.0, 12, 12), 2.5, 14, 11)
    assert profile_mm(cone.cutter)[-1][1] * cone.scale < 11
