"""Everything the ink asks for: floors first, then walls and strokes with the V-bit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.errors import NotCuttableError
from workers.geometry.medial_axis import medial_axis
from workers.geometry.offsets import inset
from workers.geometry.vee import reach_mm
from workers.toolpaths.clearance import Clearance, clearance_of, clearing_paths
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.floor_finish import (
    attached,
    finishing_cover,
    finishing_runs,
    floor_finish,
    rest_margin_mm,
)
from workers.toolpaths.groove import Groove, dots, floor_middles, groove_of, groove_strands
from workers.toolpaths.linking import linked_paths
from workers.toolpaths.shop import Shop
from workers.toolpaths.strands import at_height, joined, length_mm, level, strands_of
from workers.values.cuts import InciseCut
from workers.values.cutter import EndMill
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.design import Design
from workers.values.finding import Finding, Severity
from workers.values.medial_axis import MedialAxis
from workers.values.progress import Reporter
from workers.values.region import Region

Floats = NDArray[np.float64]

_THIN_MM = 1.5  # less board than this under a groove may show or break (common practice)
_WORTH_SAYING_MIN = 1.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Incised:
    """Paths of the end mill and of the V-bit."""

    cleared: list[CutPath]
    incised: list[CutPath]
    findings: tuple[Finding, ...]


def incise_paths(
    design: Design, cut: InciseCut, clear: EndMill | None, shop: Shop, report: Reporter
) -> Incised:
    """Return the paths that cut a design's ink.

    Args:
        design: The sign.
        cut: The V-bit and how deep it may go; lowered to what the bit can reach.
        clear: The end mill for floors, if there is one.
        shop: Material and machine.
        report: Told how far it is.

    Raises:
        NotCuttableError: A groove would go right through the board.
    """
    if design.ink.polygons.is_empty:
        return Incised(cleared=[], incised=[], findings=())
    report(0.0, "finding the middle of every stroke")
    axis = medial_axis(design.ink)
    groove = groove_of(cut.cutter, min(cut.depth_limit_mm, reach_mm(cut.cutter)))
    deepest_mm = _deepest_mm(axis, groove)
    findings = _depth_findings(design, cut, axis, groove, deepest_mm)
    report(0.4, "laying out floors")
    walls = inset(design.ink, groove.full_radius_mm)
    clearance = clearance_of(design.ink, groove.slope * groove.depth_mm, clear) if clear else None
    milled = clearance.cleared(rest_margin_mm(groove)) if clearance else None
    finish = floor_finish(walls, milled, groove)
    cover = finishing_cover(finish, floor_middles(axis, groove))
    report(0.7, "joining and ordering grooves")
    pass_mm = shop.data(cut.cutter, OperationKind.INCISE).pass_depth_mm
    pace = shop.pace(cut.cutter, OperationKind.INCISE, deepest_mm)
    lines = strands_of([at_height(line_mm, -groove.depth_mm) for line_mm in cover.lines_mm])
    strands = joined([groove_strands(axis, walls, groove), lines])
    here_mm, upper_mm, paths, floor_mm = np.zeros(2), 0.0, [], 0.0
    for depth_mm in pass_depths_mm(deepest_mm, pass_mm):
        runs = finishing_runs(finish, cover.levels, depth_mm, groove, pace.lift_worth_mm)
        net = attached(level(strands, upper_mm, -depth_mm), runs, finish.room, pace.lift_worth_mm)
        paths += linked_paths(net, pace, _dots_at(dots(axis, groove), upper_mm, -depth_mm), here_mm)
        floor_mm += sum(length_mm(run) for run in runs)
        here_mm, upper_mm = (paths[-1].points_mm[-1, :2] if paths else here_mm), -depth_mm
    findings += _floor_findings(walls, clearance, floor_mm / pace.feed_mm_per_min)
    return Incised(cleared=_milled(clearance, clear, groove, shop), incised=paths, findings=findings)


def _dots_at(dots_mm: Floats, upper_mm: float, lower_mm: float) -> Floats:
    """Return the dots of one depth pass."""
    deep_mm = dots_mm[dots_mm[:, 2] < upper_mm].copy()
    np.maximum(deep_mm[:, 2], lower_mm, out=deep_mm[:, 2])
    return deep_mm


def _milled(clearance: Clearance | None, mill: EndMill | None, groove: Groove, shop: Shop) -> list[CutPath]:
    if clearance is None or mill is None:
        return []
    data = shop.data(mill, OperationKind.CLEAR)
    pace = shop.pace(mill, OperationKind.CLEAR, groove.depth_mm)
    stepover_mm = data.stepover_fraction * mill.diameter_mm
    return clearing_paths(clearance, groove.depth_mm, data.pass_depth_mm, stepover_mm, pace)


def _deepest_mm(axis: MedialAxis, groove: Groove) -> float:
    widest_mm = float(axis.nodes_mm[:, 2].max(initial=0.0))
    return max(0.0, min(groove.depth_mm, (widest_mm - groove.tip_radius_mm) / groove.slope))


def _depth_findings(
    design: Design, cut: InciseCut, axis: MedialAxis, groove: Groove, deepest_mm: float
) -> tuple[Finding, ...]:
    """Return what is to be said of depth, board and bit; raise if they cannot go together."""
    findings = []
    if groove.depth_mm < cut.depth_limit_mm - 1e-6 and deepest_mm >= groove.depth_mm - 1e-6:
        findings.append(
            Finding(
                code="depth-limited-by-bit",
                severity=Severity.WARNING,
                message=(
                    f"the depth limit of {cut.depth_limit_mm:.2f} mm is more than {cut.cutter.name} reaches: "
                    f"wide strokes are cut {groove.depth_mm:.2f} mm deep, as its diameter of "
                    f"{cut.cutter.diameter_mm:.2f} mm and cutting length of "
                    f"{cut.cutter.cutting_length_mm:.2f} mm allow"
                ),
                remedy="use a larger bit, or lower the depth limit to say so",
            )
        )
    left_mm = design.board.thickness_mm - deepest_mm
    if left_mm < _THIN_MM:
        deepest = int(np.argmax(axis.nodes_mm[:, 2]))
        through = left_mm <= 0
        finding = Finding(
            code="groove-through-board" if through else "thin-under-groove",
            severity=Severity.ERROR if through else Severity.WARNING,
            message=(
                f"grooves go {deepest_mm:.2f} mm deep into a board {design.board.thickness_mm:.2f} mm thick"
            ),
            remedy="lower the depth limit, or take a thicker board",
            at_mm=(float(axis.nodes_mm[deepest, 0]), float(axis.nodes_mm[deepest, 1])),
        )
        if through:
            raise NotCuttableError(finding.message, findings=(finding,), remedy=finding.remedy)
        findings.append(finding)
    return tuple(findings)


def _floor_findings(walls: Region, clearance: Clearance | None, minutes: float) -> tuple[Finding, ...]:
    """Return a word on floors that the V-bit has to clear."""
    if not minutes or (clearance is not None and minutes < _WORTH_SAYING_MIN):
        return ()
    if clearance is None:
        widest = max(walls.polygons.geoms, key=lambda part: part.area).representative_point()
        return (
            Finding(
                code="floor-without-clear-bit",
                severity=Severity.WARNING if minutes >= _WORTH_SAYING_MIN else Severity.NOTE,
                message=(
                    f"{walls.polygons.area:.0f} mm2 of ink is wider than the depth limit cuts; the V-bit "
                    f"clears that floor line by line, which takes {minutes:.1f} minutes of its time"
                ),
                remedy="give 'clear' an end mill, or a deeper depth limit",
                at_mm=(widest.x, widest.y),
            ),
        )
    return (
        Finding(
            code="floor-finished-with-v-bit",
            severity=Severity.NOTE,
            message=f"the V-bit takes {minutes:.1f} minutes for floor that the clearing bit cannot reach",
            remedy="a thinner clearing bit reaches farther into corners",
        ),
    )
