"""Cuts beside the board, where clamps are."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

from workers.values.finding import Finding, Severity
from workers.values.program import Motion
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.tolerances import ASIDE_DIAMETERS, DEPTH_ROUNDING_MM


def aside_findings(exhibit: Exhibit, circumstances: Circumstances) -> list[Finding]:
    """Return a finding when a program cuts farther beside the board than going round it takes."""
    trace = exhibit.trace
    cutting = np.flatnonzero((trace.motions == Motion.FEED) & (trace.lowest_mm < -DEPTH_ROUNDING_MM))
    if not len(cutting):
        return []
    ends_mm = trace.ends_mm[cutting]
    rooms = _rooms_mm(exhibit, circumstances)
    aside_mm = np.array([shapely.distance(edge, shapely.points(ends_mm[:, :2])) for edge, _ in rooms])
    beyond_mm = (aside_mm - np.array([[room_mm] for _, room_mm in rooms])).min(axis=0)
    farthest = int(np.argmax(beyond_mm))
    if beyond_mm[farthest] <= 0:
        return []
    return [
        Finding(
            code="cuts-beside-board",
            severity=Severity.ERROR,
            message=(
                f"{exhibit.line_of(cutting[farthest])}: cuts "
                f"{aside_mm[-1, farthest]:.2f} mm beside the board; {rooms[-1][1]:.2f} mm is room enough "
                f"for {exhibit.cutter.name}"
            ),
            remedy="check the place and the board's size; clamps and other work may be there",
            at_mm=exhibit.end_of(cutting[farthest]),
        )
    ]


def _rooms_mm(exhibit: Exhibit, circumstances: Circumstances) -> list[tuple[Polygon, float]]:
    """Return the edges beside which the bit may cut, and how far its middle may be from each.

    What is left of the board is gone round; ground that runs out over the ordered edge is cut so
    far past that one, however much of the board the cutout takes.
    """
    cutter, cutout = exhibit.cutter, circumstances.cutout
    goes_round = cutout is not None and cutter.diameter_mm == cutout.cutter.diameter_mm
    rooms = [(circumstances.outline, (ASIDE_DIAMETERS if goes_round else 0.5) * cutter.diameter_mm)]
    if circumstances.open_edge is not None:
        rooms.append((circumstances.open_edge, 0.5 * cutter.diameter_mm + circumstances.past_edge_mm))
    return rooms
