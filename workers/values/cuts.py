"""What the order says about each way of cutting, with the bits found."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from workers.values.cutter import Cutter, EndMill, VeeCutter

USUAL_ENGAGEMENT_DEG = 100.0  # of a mill's edge in the wood, where an even load is asked for (a choice)
_TABS_APART_MM = 200.0  # along the outline; 150 to 250 mm is usual (trade.md P-03, memory)
_FEWEST_TABS = 3  # trade.md P-03
_TABS_OF_A_PIECE = 2  # of a piece inside an opening: it is small, and waste (a choice)
_LEAD_DIAMETERS = 0.5  # radius of the quarter circle that leads on to the outline, at most (a choice)
_LEAD_REACH = 1.5  # of that radius: how far into the waste the bit's middle is led
TABS_SECTION_MM2 = 45.0  # of all tabs together: four of 6 x 2 mm hold what is usual (common practice)


@dataclass(frozen=True, slots=True, kw_only=True)
class InciseCut:
    """V-grooves no deeper than a limit (already lowered to what the bit can reach)."""

    cutter: VeeCutter
    depth_limit_mm: float
    paler_limits_mm: tuple[float, ...] | None = None  # of the paler of several tones; None: in equal steps


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearCut:
    """Floors under the depth limit, milled flat: a coarse bit first, finer ones where it did not reach."""

    mills: tuple[EndMill, ...]  # in the order in which they run; one at least
    grain_deg: float | None = None  # the first runs in lines along it; None: in rings
    climb: bool = True
    pass_depth_mm: float | None = None  # None: as the cutting data say
    engagement_deg: float | None = None  # of the edge in the wood at full feed; None: feeds stay full


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillCut:
    """Round holes: a drill pecks, an end mill goes round."""

    cutter: Cutter
    peck_mm: float | None = None  # deepest at a time before the bit is lifted out; None: as the data say
    dwell_s: float = 0.0  # that the bit stands at the bottom of a drilled hole


class CutoutSide(StrEnum):
    """On which side of the board's outline the bit runs."""

    OUTSIDE = "outside"  # the board keeps its size
    ON = "on"  # the bit's middle is on the line
    INSIDE = "inside"  # what lies beyond the line keeps its size


@dataclass(frozen=True, slots=True, kw_only=True)
class CutoutCut:
    """The board cut free: how far past its thickness, and the bridges that hold it."""

    cutter: Cutter
    past_mm: float
    tabs_count: int | None  # None: by the outline's length and the tabs' section
    tab_width_mm: float  # of the bridge that is left, not of the lifted path
    tab_height_mm: float  # from the board's underside
    tabs_sloped: bool = False  # the bit rises and falls along a slope, not straight up
    side: CutoutSide = CutoutSide.OUTSIDE
    climb: bool = True
    pass_depth_mm: float | None = None  # None: as the cutting data say
    last_layer_mm: float = 0.0  # left under the whole outline for a thin last pass; 0: equal passes
    wall_allowance_mm: float = 0.0  # left on the wall for a last round at full depth; 0: no such round

    @property
    def wall_offset_mm(self) -> float:
        """How far outside the outline the bit's middle runs along the finished wall."""
        radius_mm = self.cutter.diameter_mm / 2
        return {CutoutSide.OUTSIDE: radius_mm, CutoutSide.ON: 0.0, CutoutSide.INSIDE: -radius_mm}[self.side]

    @property
    def eaten_mm(self) -> float:
        """How far inside the outline the bit reaches: the board ends up smaller by this all round."""
        inside_mm = self.wall_allowance_mm if self.side is CutoutSide.INSIDE else 0.0
        return self.cutter.diameter_mm / 2 - self.wall_offset_mm + inside_mm

    @property
    def lead_radius_mm(self) -> float:
        """Of the quarter circles that lead on to the outline and off it, at most."""
        return _LEAD_DIAMETERS * self.cutter.diameter_mm

    @property
    def reach_mm(self) -> float:
        """How far beyond the outline the bit may cut: beside it, and where it is led on and off."""
        beside_mm = self.cutter.diameter_mm / 2 + self.wall_offset_mm
        if self.side is CutoutSide.INSIDE:
            return beside_mm
        return beside_mm + self.wall_allowance_mm + _LEAD_REACH * self.lead_radius_mm

    def round_an_opening(self) -> CutoutCut:
        """Return how the same bit cuts round a piece inside the board: along its wall, two square tabs.

        The order's count is the board's own: what holds a board from below seldom holds a small piece.
        """
        return replace(self, side=CutoutSide.INSIDE, tabs_count=_TABS_OF_A_PIECE, tabs_sloped=False)

    def tabs_on(self, outline_mm: float) -> int:
        """Return how many tabs an outline of this length gets.

        Source: max(3, length / spacing, rounded up), trade.md P-03; more where their section is small.

        >>> from workers.values.cutter import EndMill
        >>> mill = EndMill(name="flat", diameter_mm=3, cutting_length_mm=20, flutes_count=2)
        >>> cut = CutoutCut(cutter=mill, past_mm=0.3, tabs_count=None, tab_width_mm=8, tab_height_mm=2)
        >>> cut.tabs_on(1000), cut.tabs_on(300)
        (5, 3)
        """
        if self.tabs_count is not None:
            return self.tabs_count
        by_section = math.ceil(TABS_SECTION_MM2 / (self.tab_width_mm * self.tab_height_mm) - 1e-9)
        return max(_FEWEST_TABS, math.ceil(outline_mm / _TABS_APART_MM - 1e-9), by_section)
