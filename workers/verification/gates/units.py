"""Is a program written in the other unit than it says?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from workers.values.design import Design
from workers.values.finding import Finding, Severity
from workers.values.frames import MM_PER_INCH
from workers.values.program import Motion
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.tolerances import DEPTH_ROUNDING_MM

_ALIKE = 1.15  # two sizes are the same within this factor
_FAR_TOO_LARGE = 8.0  # times the board: no slip of a place, but of a unit


def units_findings(
    exhibits: Sequence[Exhibit], circumstances: Circumstances, design: Design | None
) -> list[Finding]:
    """Return a finding when everything cut is 25.4 times too large or too small.

    Args:
        exhibits: The programs that could be read.
        circumstances: The board, for the size of things where there is no design.
        design: What shall be cut.
    """
    cut_mm = _cut_size_mm(exhibits)
    if cut_mm == 0:
        return []
    wanted_mm = _wanted_size_mm(circumstances, design)
    board_mm = max(circumstances.board.width_mm, circumstances.board.height_mm)
    if _alike(cut_mm, wanted_mm * MM_PER_INCH) or (design is None and cut_mm > _FAR_TOO_LARGE * board_mm):
        written, said = "millimetres", "inches (G20)"
    elif _alike(cut_mm * MM_PER_INCH, wanted_mm):
        written, said = "inches", "millimetres (G21)"
    else:
        return []
    return [
        Finding(
            code="wrong-units",
            severity=Severity.ERROR if design else Severity.WARNING,
            message=(
                f"what is cut is {cut_mm:.1f} mm long and {wanted_mm:.1f} mm is expected: "
                f"the numbers look like {written}, the program says {said}"
            ),
            remedy="write G21 for millimetres or G20 for inches at the start of each program",
        )
    ]


def _alike(one_mm: float, other_mm: float) -> bool:
    return one_mm < other_mm * _ALIKE and other_mm < one_mm * _ALIKE


def _cut_size_mm(exhibits: Sequence[Exhibit]) -> float:
    """Return the longer side of the box round everything cut below the face, 0 if there is nothing."""
    cut = [np.empty((0, 2))]
    for exhibit in exhibits:
        trace = exhibit.trace
        below = (trace.motions == Motion.FEED) & (trace.lowest_mm < -DEPTH_ROUNDING_MM)
        cut += [trace.starts_mm[below, :2], trace.ends_mm[below, :2]]
    points_mm = np.concatenate(cut)
    return float(np.ptp(points_mm, axis=0).max()) if len(points_mm) else 0.0


def _wanted_size_mm(circumstances: Circumstances, design: Design | None) -> float:
    wanted: list[shapely.Geometry] = [] if design is None else [design.ink.polygons]
    if design is None or circumstances.cutout or design.ink.polygons.is_empty:
        wanted.append(circumstances.outline)
    left, bottom, right, top = shapely.total_bounds(wanted)
    return float(max(right - left, top - bottom))
