"""The widths at which verdicts change, for one bit, depth limit and material."""

from __future__ import annotations

import math
from dataclasses import dataclass

from workers.geometry.vee import flank_slope
from workers.values.cuts import InciseCut
from workers.values.material import Material

_CUT_THROUGH_MM = 0.05  # a wall thinner than this is no more than a burr


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Widths of strokes and walls, at the board's face."""

    cuts_from_mm: float  # the tip's own width
    shows_from_mm: float  # infinite where the depth limit lets nothing show
    is_there_from_mm: float  # of a wall
    stands_from_mm: float  # of a wall

    @property
    def least_run_mm(self) -> float:
        """The shortest stretch of a stroke whose change of width anybody would notice."""
        return max(1.0, self.shows_from_mm) if math.isfinite(self.shows_from_mm) else 1.0


def limits_of(cut: InciseCut, material: Material) -> Limits:
    """Return the limits of a cut in a material.

    A groove as deep as shows, z, is as wide as t + 2 k z for a bit of flank slope k and tip t.

    Source: trade.md V-05; the handed-down figures are in tests/reference/test_thinnest_stroke.py.
    """
    shows = showing_width_mm(cut, material)
    too_shallow = cut.depth_limit_mm < material.shows_depth_mm - 1e-9
    return Limits(
        cuts_from_mm=cut.cutter.tip_mm,
        shows_from_mm=math.inf if too_shallow else shows,
        is_there_from_mm=_CUT_THROUGH_MM,
        stands_from_mm=material.thinnest_wall_mm,
    )


def showing_width_mm(cut: InciseCut, material: Material) -> float:
    """Return the width of a stroke whose groove is as deep as shows, or as the limit lets it be."""
    depth_mm = min(material.shows_depth_mm, cut.depth_limit_mm)
    return cut.cutter.tip_mm + 2 * flank_slope(cut.cutter) * depth_mm
