"""The V of a V-bit: width and depth, by the trigonometry of a cone with a flat tip."""

from __future__ import annotations

import math

from workers.values.cutter import VeeCutter


def flank_slope(cutter: VeeCutter) -> float:
    """Return k = tan(A/2): how much half the groove's width grows for each unit of depth.

    >>> round(flank_slope(VeeCutter(name="v", diameter_mm=12, cutting_length_mm=12, flutes_count=2,
    ...                             included_angle_deg=60, tip_mm=0)), 6)
    0.57735
    """
    return math.tan(math.radians(cutter.included_angle_deg) / 2)


def half_width_mm(cutter: VeeCutter, depth_mm: float) -> float:
    """Return how far from its middle a V-bit cuts at the face, at a depth within its cone.

    >>> round(half_width_mm(VeeCutter(name="v", diameter_mm=12, cutting_length_mm=9, flutes_count=2,
    ...                               included_angle_deg=90, tip_mm=0.2), 2.0), 6)
    2.1
    """
    return cutter.tip_mm / 2 + flank_slope(cutter) * depth_mm


def cone_length_mm(cutter: VeeCutter) -> float:
    """Return the depth at which the groove is as wide as the bit: the end of its cone, mm.

    Source: trigonometry of the frustum; tests/reference/test_vee.py has worked figures.
    """
    return (cutter.diameter_mm - cutter.tip_mm) / (2 * flank_slope(cutter))


def reach_mm(cutter: VeeCutter) -> float:
    """Return how deep a V-bit can cut: no deeper than its cone, nor than its cutting length, mm."""
    return min(cone_length_mm(cutter), cutter.cutting_length_mm)
