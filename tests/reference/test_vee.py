"""V-groove depths against worked figures: trade.md V-01, V-04 (derived there by trigonometry, two ways)."""

import pytest

from tests.support.specimens import vee
from workers.geometry.vee import cone_length_mm, flank_slope, reach_mm


@pytest.mark.parametrize(
    ("angle_deg", "slope", "depth_of_3_mm", "depth_of_6_mm_tip_half"),
    [
        (15, 0.131652498, 11.393631, 20.888324),
        (30, 0.267949192, 5.598076, 10.263140),
        (60, 0.577350269, 2.598076, 4.763140),
        (90, 1.0, 1.5, 2.75),
        (120, 1.732050808, 0.866025, 1.587713),
    ],
)
def test_depths_of_common_bits(
    angle_deg: float, slope: float, depth_of_3_mm: float, depth_of_6_mm_tip_half: float
) -> None:
    """Table V-04: how deep a groove is that is as wide as the bit, sharp and with a 0.5 mm flat."""
    assert flank_slope(vee(angle_deg)) == pytest.approx(slope, abs=1e-9)
    assert cone_length_mm(vee(angle_deg, diameter_mm=3)) == pytest.approx(depth_of_3_mm, abs=1e-6)
    with_flat = vee(angle_deg, 0.5, diameter_mm=6)
    assert cone_length_mm(with_flat) == pytest.approx(depth_of_6_mm_tip_half, abs=1e-6)


def test_reach_is_the_shorter_of_cone_and_edge() -> None:
    """A 12.7 mm 90 degree cone is 6.35 mm long (V-04); a shorter cutting edge ends sooner."""
    assert cone_length_mm(vee(90, diameter_mm=12.7)) == pytest.approx(6.35)
    assert reach_mm(vee(90, diameter_mm=12.7)) == pytest.approx(6.35)
    assert reach_mm(vee(90, diameter_mm=12.7, length_mm=5.0)) == 5.0
