"""A deep cut taken in several passes."""

from __future__ import annotations

import math

_SPARE_FRACTION = 1e-6  # a depth that is a pass by rounding alone does not get another


def pass_depths_mm(depth_mm: float, pass_depth_mm: float) -> list[float]:
    """Return the depths of equal passes, none deeper than allowed, the last at the full depth.

    >>> pass_depths_mm(5.0, 2.0)
    [1.6666666666666667, 3.3333333333333335, 5.0]
    """
    if depth_mm <= 0:
        return []
    count = max(1, math.ceil(depth_mm / pass_depth_mm - _SPARE_FRACTION))
    return [depth_mm * number / count for number in range(1, count)] + [depth_mm]
