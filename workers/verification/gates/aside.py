"""Cuts beside the board, where clamps are."""

from __future__ import annotations

import numpy as np
import shapely

from workers.values.finding import Finding, Severity
from workers.values.program import Motion
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.tolerances import ASIDE_DIAMETERS, DEPTH_ROUNDING_MM


def aside_findings(exhibit: Exhibit, circumstances: Circumstances) -> list[Finding]:
    """Return a finding when a program cuts farther beside the board than going round it takes."""
    trace, cutter = exhibit.trace, exhibit.cutter
    cutting = np.flatnonzero((trace.motions == Motion.FEED) & (trace.lowest_mm < -DEPTH_ROUNDING_MM))
    if not len(cutting):
        return []
    ends_mm = trace.ends_mm[cutting]
    aside_mm = np.atleast_1d(shapely.distance(circumstances.outline, shapely.points(ends_mm[:, :2])))
    farthest = int(np.argmax(aside_mm))
    cutout = circumstances.cutout
    goes_round = cutout is not None and cutter.diameter_mm == cutout.cutter.diameter_mm
    over_edge_mm = 0.5 * cutter.diameter_mm + circumstances.past_edge_mm
    allowed_mm = max(over_edge_mm, ASIDE_DIAMETERS * cutter.diameter_mm if goes_round else 0.0)
    if aside_mm[farthest] <= allowed_mm:
        return []
    return [
        Finding(
            code="cuts-beside-board",
            severity=Severity.ERROR,
            message=(
                f"{exhibit.line_of(cutting[farthest])}: cuts "
                f"{aside_mm[farthest]:.2f} mm beside the board; {allowed_mm:.2f} mm is room enough "
                f"for {cutter.name}"
            ),
            remedy="check the place and the board's size; clamps and other work may be there",
            at_mm=exhibit.end_of(cutting[farthest]),
        )
    ]
