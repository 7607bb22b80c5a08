"""What becomes of strokes and walls where the board does not lie as high as the bit thinks.

A V cuts as wide as it cuts deep. So where the stock is low, or the zero too high, every groove is
narrower; where the stock is high, every groove is wider and every wall thinner.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from workers.geometry.vee import flank_slope
from workers.resolvability.limits import Limits, limits_of
from workers.values.cuts import InciseCut
from workers.values.examination import Verdict
from workers.values.material import Material

HEIGHT_ERROR_MM = 0.1  # what a careful hand leaves of flatness and zero together (common practice)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """What an error of height does to a cut."""

    height_error_mm: float
    width_change_mm: float  # of every groove and wall
    low: Limits  # widths at which verdicts change where the stock is low
    high: Limits  # and where it is high

    def width_when_low_mm(self, width_mm: float) -> float:
        """Return how wide a stroke comes out on low stock; 0 where the tip does not touch it."""
        return width_mm - self.width_change_mm if width_mm >= self.low.cuts_from_mm else 0.0

    def verdict_when_low(self, width_mm: float) -> Verdict:
        """Return what a stroke would be on low stock."""
        if width_mm < self.low.cuts_from_mm:
            return Verdict.LOST
        return Verdict.SHOWS if width_mm >= self.low.shows_from_mm else Verdict.FAINT


def sensitivity_of(
    cut: InciseCut, material: Material, height_error_mm: float = HEIGHT_ERROR_MM
) -> Sensitivity:
    """Return what an error of height does.

    Args:
        cut: The bit and the depth limit.
        material: Gives the depth that shows and the thinnest wall that stands.
        height_error_mm: How much the face lies lower, or higher, than zero was set.

    Source: a cone of half angle A/2 is 2 tan(A/2) dz wider dz farther up, so dw = 2 k dz (trade.md V-02);
    the figures of tests/reference/test_height_sensitivity.py.
    """
    change_mm = 2 * flank_slope(cut.cutter) * height_error_mm
    limits = limits_of(cut, material)
    deeper = replace(material, shows_depth_mm=material.shows_depth_mm + height_error_mm)
    return Sensitivity(
        height_error_mm=height_error_mm,
        width_change_mm=change_mm,
        low=replace(limits_of(cut, deeper), cuts_from_mm=limits.cuts_from_mm + change_mm),
        high=replace(
            limits,
            is_there_from_mm=limits.is_there_from_mm + change_mm,
            stands_from_mm=limits.stands_from_mm + change_mm,
        ),
    )
