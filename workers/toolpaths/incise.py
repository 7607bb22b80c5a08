"""Everything the ink asks for: floors with an end mill, then all the rest with the V-bit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.offsets import inset
from workers.geometry.outline_diagram import ink_axis
from workers.geometry.vee import reach_mm
from workers.toolpaths.bit_findings import refuse_short_mills
from workers.toolpaths.clearance import Clearance, clearances_of, cleared_by
from workers.toolpaths.clearing import clearing_paths
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.floor_finish import (
    FloorFinish,
    attached,
    finishing_cover,
    finishing_runs,
    floor_finish,
    rest_margin_mm,
)
from workers.toolpaths.groove import Groove, dots, floor_middles, groove_of, groove_strands
from workers.toolpaths.incise_findings import depth_findings, floor_findings, refuse_endless
from workers.toolpaths.linking import linked_paths
from workers.toolpaths.pace import Pace
from workers.toolpaths.rings import Covering
from workers.toolpaths.shop import Shop
from workers.toolpaths.strands import Strands, at_height, joined, length_mm, level, strands_of
from workers.values.cuts import ClearCut, InciseCut
from workers.values.cutter import EndMill
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.design import Design
from workers.values.finding import Finding
from workers.values.medial_axis import MedialAxis
from workers.values.progress import Reporter

Floats = NDArray[np.float64]

_LOST_BRANCH_MM = 0.015  # what may stay uncut where chords of a curve meet; the proof allows 0.018


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Incised:
    """Paths of the end mills, each with its own, and of the V-bit."""

    cleared: list[tuple[EndMill, list[CutPath]]]
    incised: list[CutPath]
    findings: tuple[Finding, ...]


def incise_paths(
    design: Design, cut: InciseCut, clear: ClearCut | None, shop: Shop, report: Reporter
) -> Incised:
    """Return the paths that cut a design's ink.

    Args:
        design: The sign.
        cut: The V-bit and how deep it may go; lowered to what the bit can reach.
        clear: The end mills for floors, if there are any.
        shop: Material and machine.
        report: Told how far it is.

    Raises:
        NotCuttableError: A groove would go right through the board, or floors would take hours.
    """
    if design.ink.polygons.is_empty:
        return Incised(cleared=[], incised=[], findings=())
    report(0.0, "finding the middle of every stroke")
    axis = ink_axis(design.ink, _LOST_BRANCH_MM)
    groove = groove_of(cut.cutter, min(cut.depth_limit_mm, reach_mm(cut.cutter)))
    deepest_mm = _deepest_mm(axis, groove)
    pace = shop.pace(cut.cutter, OperationKind.INCISE, deepest_mm)
    findings = depth_findings(cut, groove, deepest_mm, axis, design.board)
    report(0.3, "laying out floors")
    walls = inset(design.ink, groove.full_radius_mm)
    if clear and not walls.polygons.is_empty:
        refuse_short_mills(clear, groove.depth_mm)
    clearances = clearances_of(design.ink, groove.slope * groove.depth_mm, clear) if clear else []
    milled = cleared_by(clearances, rest_margin_mm(groove)) if clearances else None
    finish = floor_finish(walls, milled, groove)
    refuse_endless(finish, pace, clear)
    cover = finishing_cover(finish, floor_middles(axis, groove))
    report(0.6, "joining and ordering grooves")
    lines = strands_of([at_height(line_mm, -groove.depth_mm) for line_mm in cover.lines_mm])
    strands = joined([groove_strands(axis, walls, groove), lines])
    passes_mm = pass_depths_mm(deepest_mm, shop.data(cut.cutter, OperationKind.INCISE).pass_depth_mm)
    work = _VeeWork(groove, strands, dots(axis, groove), finish, cover)
    paths, floor_mm = _vee_paths(work, passes_mm, pace, report)
    return Incised(
        cleared=_milled(clearances, clear, groove, shop) if clear else [],
        incised=paths,
        findings=findings + floor_findings(walls, clear, floor_mm / pace.feed_mm_per_min),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _VeeWork:
    """All that the V-bit has to do, at its final depth."""

    groove: Groove
    strands: Strands  # walls, strokes and middle lines of floors
    dots_mm: Floats
    finish: FloorFinish
    cover: Covering


def _vee_paths(
    work: _VeeWork, passes_mm: list[float], pace: Pace, report: Reporter
) -> tuple[list[CutPath], float]:
    """Return the V-bit's paths, one depth pass after another, and the length of their rings on floors."""
    paths: list[CutPath] = []
    here_mm, upper_mm, floor_mm = np.zeros(2), 0.0, 0.0
    for number, depth_mm in enumerate(passes_mm):
        report(0.6 + 0.3 * number / len(passes_mm), "joining and ordering grooves")
        runs = finishing_runs(work.finish, work.cover.levels, depth_mm, work.groove, pace.lift_worth_mm)
        net = attached(level(work.strands, upper_mm, -depth_mm), runs, work.finish.room, pace.lift_worth_mm)
        paths += linked_paths(net, pace, _dots_at(work.dots_mm, upper_mm, -depth_mm), here_mm)
        floor_mm += sum(length_mm(run) for run in runs)
        here_mm, upper_mm = (paths[-1].points_mm[-1, :2] if paths else here_mm), -depth_mm
    return paths, floor_mm


def _dots_at(dots_mm: Floats, upper_mm: float, lower_mm: float) -> Floats:
    """Return the dots of one depth pass."""
    deep_mm = dots_mm[dots_mm[:, 2] < upper_mm].copy()
    np.maximum(deep_mm[:, 2], lower_mm, out=deep_mm[:, 2])
    return deep_mm


def _milled(
    clearances: list[Clearance], cut: ClearCut, groove: Groove, shop: Shop
) -> list[tuple[EndMill, list[CutPath]]]:
    """Return what each mill does; lines along the grain are for the first, the others follow walls."""
    found = []
    for number, clearance in enumerate(clearances):
        data = shop.data(clearance.mill, OperationKind.CLEAR)
        paths = clearing_paths(
            clearance,
            groove.depth_mm,
            cut.pass_depth_mm or data.pass_depth_mm,
            data.stepover_fraction * clearance.mill.diameter_mm,
            shop.pace(clearance.mill, OperationKind.CLEAR, groove.depth_mm),
            cut.climb,
            cut.grain_deg if number == 0 else None,
        )
        found.append((clearance.mill, paths))
    return found


def _deepest_mm(axis: MedialAxis, groove: Groove) -> float:
    widest_mm = float(axis.nodes_mm[:, 2].max(initial=0.0))
    return max(0.0, min(groove.depth_mm, (widest_mm - groove.tip_radius_mm) / groove.slope))
