"""How far a mill may bite for an angle of its edge in the wood, by the geometry of two circles."""

from __future__ import annotations

import math


def step_mm(limit_deg: float, radius_mm: float, bend_mm: float = math.inf) -> float:
    """Return how far the bit may step outwards for an angle of its edge in the wood.

    Within a round hole of radius R = bend + r the bit's middle, one step farther out at e, has in the wood
    what it sees up to ``limit_deg`` from outwards: e = sqrt(R^2 - r^2 sin^2) - r cos.

    Args:
        limit_deg: The angle allowed.
        radius_mm: Of the bit.
        bend_mm: Radius of the line on which its middle ran before.

    Source: the law of cosines; along a straight edge it is r (1 - cos), elementary.

    >>> round(step_mm(90, 3.0), 6), round(step_mm(60, 3.0), 6), round(step_mm(90, 3.0, 1.5), 6)
    (3.0, 1.5, 1.854102)
    """
    limit_rad = math.radians(limit_deg)
    if math.isinf(bend_mm):
        return radius_mm * (1 - math.cos(limit_rad))
    outer_mm = bend_mm + radius_mm
    reach_mm = math.sqrt(outer_mm**2 - (radius_mm * math.sin(limit_rad)) ** 2)
    return reach_mm - radius_mm * math.cos(limit_rad) - bend_mm


def swing_step_mm(limit_deg: float, radius_mm: float, swing_mm: float) -> float:
    """Return how far apart bites across an arm may be that swing on to its wall with a radius.

    At the wall the bit runs ahead by a step t, out of a corner of radius swing + r that the bite before has
    left. It is then e = sqrt(swing^2 + t^2) from that corner's middle and sees the wood under the angle phi
    of :func:`step_mm` to both sides of the way outwards, which is atan(swing / t) aside of its own: so in
    the front half of its edge 90 - atan(swing / t) + phi degrees are in the wood.

    Source: the law of cosines, as above.

    >>> round(swing_step_mm(90, 3.0, 1.5), 3)
    1.243
    """
    low_mm, high_mm = 0.0, 2 * radius_mm
    for _ in range(50):
        middle_mm = (low_mm + high_mm) / 2
        out_mm = math.hypot(swing_mm, middle_mm)
        cosine = ((swing_mm + radius_mm) ** 2 - out_mm**2 - radius_mm**2) / (2 * out_mm * radius_mm)
        seen_rad = math.acos(max(-1.0, min(1.0, cosine)))
        engaged_deg = 90 - math.degrees(math.atan2(swing_mm, middle_mm) - seen_rad)
        low_mm, high_mm = (middle_mm, high_mm) if engaged_deg <= limit_deg else (low_mm, middle_mm)
    return low_mm
