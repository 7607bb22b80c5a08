"""What the order says about each way of cutting, with the bits found."""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.cutter import Cutter, VeeCutter


@dataclass(frozen=True, slots=True, kw_only=True)
class InciseCut:
    """V-grooves no deeper than a limit (already lowered to what the bit can reach)."""

    cutter: VeeCutter
    depth_limit_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CutoutCut:
    """The board cut free: how far past its thickness, and the bridges that hold it."""

    cutter: Cutter
    past_mm: float
    tabs_count: int
    tab_width_mm: float  # of the bridge that is left, not of the lifted path
    tab_height_mm: float  # from the board's underside
