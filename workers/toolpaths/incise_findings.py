"""What is to be said of depth, board, bit and floors, and what cannot be cut at all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from workers.errors import NotCuttableError
from workers.toolpaths.floor_finish import FloorFinish
from workers.toolpaths.groove import Groove
from workers.toolpaths.pace import Pace
from workers.values.cuts import InciseCut
from workers.values.cutter import EndMill
from workers.values.design import Board
from workers.values.finding import Finding, Severity
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

_THIN_MM = 1.5  # less board than this under a groove may show or break (common practice)
_WORTH_SAYING_MIN = 1.0
_LONGEST_FINISH_MM = 300_000.0  # of V-bit lines on floors: hours at the machine, and a million moves


def depth_findings(
    cut: InciseCut, groove: Groove, deepest_mm: float, axis: MedialAxis, board: Board
) -> tuple[Finding, ...]:
    """Return what is to be said of depth, board and bit.

    Args:
        cut: What was asked for.
        groove: What the bit can do of it.
        deepest_mm: How deep the design is cut at its widest.
        axis: Of the ink.
        board: What it is cut into.

    Raises:
        NotCuttableError: A groove would go right through the board.
    """
    findings = []
    if groove.depth_mm < cut.depth_limit_mm - 1e-6 and deepest_mm >= groove.depth_mm - 1e-6:
        findings.append(_limited_by_bit(cut, groove.depth_mm))
    left_mm = board.thickness_mm - deepest_mm
    if left_mm < _THIN_MM:
        widest_mm = axis.nodes_mm[int(np.argmax(axis.nodes_mm[:, 2]))]
        thin = Finding(
            code="groove-through-board" if left_mm <= 0 else "thin-under-groove",
            severity=Severity.ERROR if left_mm <= 0 else Severity.WARNING,
            message=f"grooves go {deepest_mm:.2f} mm deep into a board {board.thickness_mm:.2f} mm thick",
            remedy="lower the depth limit, or take a thicker board",
            at_mm=(float(widest_mm[0]), float(widest_mm[1])),
        )
        if left_mm <= 0:
            raise NotCuttableError.for_findings(thin, field="/inputs/incise/depth_limit")
        findings.append(thin)
    return tuple(findings)


def _limited_by_bit(cut: InciseCut, depth_mm: float) -> Finding:
    bit = cut.cutter
    return Finding(
        code="depth-limited-by-bit",
        severity=Severity.WARNING,
        message=(
            f"the depth limit of {cut.depth_limit_mm:.2f} mm is more than {bit.name} reaches: wide strokes "
            f"are cut {depth_mm:.2f} mm deep, as its diameter of {bit.diameter_mm:.2f} mm and cutting "
            f"length of {bit.cutting_length_mm:.2f} mm allow"
        ),
        remedy="use a larger bit, or lower the depth limit to say so",
    )


def refuse_endless(finish: FloorFinish, pace: Pace, mills: Sequence[EndMill]) -> None:
    """Raise if the V-bit would be on the floors for hours.

    Raises:
        NotCuttableError: With the minutes, and what would help.
    """
    way_mm = finish.area.polygons.area / finish.step_mm
    if way_mm <= _LONGEST_FINISH_MM:
        return
    finding = Finding(
        code="floor-needs-clear-bit",
        severity=Severity.ERROR,
        message=(
            f"{finish.area.polygons.area:.0f} mm2 of floor would be left to the V-bit, in lines "
            f"{finish.step_mm:.3f} mm apart: {way_mm / pace.feed_mm_per_min:.0f} minutes of cutting"
        ),
        remedy="give 'clear' a thinner end mill" if mills else "give 'clear' an end mill",
    )
    raise NotCuttableError.for_findings(finding, field="/inputs/clear")


def floor_findings(area: Region, mills: Sequence[EndMill], minutes: float) -> tuple[Finding, ...]:
    """Return a word on floors that the V-bit has to clear.

    Args:
        area: What of the floors, as its tip may stand on them, is left to it.
        mills: The end mills that have been there, if any.
        minutes: What the V-bit takes for it at its feed.
    """
    if not minutes or (mills and minutes < _WORTH_SAYING_MIN):
        return ()
    if mills:
        return (
            Finding(
                code="floor-finished-with-v-bit",
                severity=Severity.NOTE,
                message=(
                    f"the V-bit takes {minutes:.1f} minutes for floor that {mills[-1].name} cannot reach"
                ),
                remedy="a thinner bit under 'clear/finer' reaches farther into corners",
            ),
        )
    widest = max(area.polygons.geoms, key=lambda part: part.area).representative_point()
    return (
        Finding(
            code="floor-without-clear-bit",
            severity=Severity.WARNING if minutes >= _WORTH_SAYING_MIN else Severity.NOTE,
            message=(
                f"{area.polygons.area:.0f} mm2 of ink is wider than the depth limit cuts; the V-bit "
                f"clears that floor line by line, which takes {minutes:.1f} minutes of its time"
            ),
            remedy="give 'clear' an end mill, or a deeper depth limit",
            at_mm=(widest.x, widest.y),
        ),
    )
