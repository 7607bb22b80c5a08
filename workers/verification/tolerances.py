"""The few figures by which a proof passes or fails, each with its reason."""

from __future__ import annotations

import math

CELL_MM = 0.1  # grooves narrower than two cells are rare; 300 x 200 mm make six million cells
LARGEST_FIELD_CELLS = 40_000_000  # 160 MB of float32; larger boards get larger cells

DEPTH_MM = 0.05  # up or down: no hand feels it on a floor
SIDEWAYS_MM = 0.03  # of a groove's edge: the middle line is kept within 0.02 and chords within 0.01
USUAL_SHARE = 0.6  # of the above, for all but one cell in a thousand

RIM_MM = 0.05  # beside an upright wall (holes, outline) the depth of a cell says nothing
RAPID_MM = 0.02  # deeper than the rounding of a program's lines, shallower than any wanted cut
RUB_MM = 0.05  # of what is over a bit's edges in standing wood: less wears off before it heats
SHANK_ROOM_MM = 0.1  # round a shank: one as thick as its bit rubs along the wall (common practice)
DEPTH_ROUNDING_MM = 0.01  # of heights in a program against the order's
BED_MM = 1.0  # into the bed where no cutout says how far past the board it may go
FREED_SHARE = 0.5  # of the outline cut through: from here on a board can shift
TAB_CELLS = 1.5  # a bridge's end is known to one cell and a half
TAB_HEIGHT_MM = 0.05
CRUMB_MM2 = 4.0  # a smaller piece that comes loose goes with the chips
EDGE_CELLS = 1.5  # this near to the outline a cell cannot tell which side it is on
ASIDE_DIAMETERS = 1.5  # how far from the board a bit's middle may cut: round it, and to lead in and out


def surface_tolerance_mm(included_angle_deg: float) -> float:
    """Return how far in depth the carved surface may be from the designed one.

    A groove's flank that is off sideways is off in depth by as much times the
    flank's steepness, so a slender bit needs more.

    >>> surface_tolerance_mm(90), round(surface_tolerance_mm(30), 3)
    (0.05, 0.112)
    """
    return max(DEPTH_MM, SIDEWAYS_MM / math.tan(math.radians(included_angle_deg) / 2))
