"""All that a V-bit cuts: along the middle of strokes, round wide areas, and floors where no mill has been."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from workers.errors import ParameterOutOfRangeError
from workers.geometry.offsets import inset
from workers.geometry.outline_diagram import ink_axis
from workers.geometry.vee import reach_mm
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.floor_finish import (
    Covering,
    FloorFinish,
    attached,
    finishing_cover,
    finishing_runs,
    floor_finish,
    rest_margin_mm,
)
from workers.toolpaths.groove import Groove, dots, floor_middles, groove_of, groove_strands
from workers.toolpaths.incise_findings import depth_findings, floor_findings, refuse_endless
from workers.toolpaths.linking import Floor, linked_paths
from workers.toolpaths.pace import Pace, pace_of
from workers.toolpaths.strands import Strands, length_mm, level
from workers.toolpaths.tier_work import reaching, reaching_dots
from workers.values.cuts import InciseCut
from workers.values.cutter import VeeCutter
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.cutting_task import CuttingTask, Ways
from workers.values.medial_axis import MedialAxis
from workers.values.progress import Reporter

Floats = NDArray[np.float64]

_LOST_BRANCH_MM = 0.015  # what may stay uncut where chords of a curve meet; the proof allows 0.018


@dataclass(frozen=True, slots=True, kw_only=True)
class MiddleLines:
    """The bit's tip runs along the medial axis, as deep as the stroke is wide, rising into corners."""

    name: str = "middles"
    summary: str = "grooves along the middle of strokes, walls and floors where the depth limit ends them"
    kind: OperationKind = OperationKind.INCISE
    plugin_api: int = 1

    def ways(self, task: CuttingTask, report: Reporter) -> Ways:
        """Return the V-bit's paths, one depth pass after another.

        Raises:
            ParameterOutOfRangeError: The bit is no V-bit.
            NotCuttableError: A groove would go right through the board, or floors would take hours.
        """
        if not isinstance(task.cutter, VeeCutter):
            raise ParameterOutOfRangeError(f"grooves are cut with a V-bit, and '{task.cutter.name}' is none")
        cut = InciseCut(cutter=task.cutter, depth_limit_mm=task.depth_mm)
        report(0.0, "finding the middle of every stroke")
        axis = ink_axis(task.area, _LOST_BRANCH_MM)
        groove = groove_of(task.cutter, min(task.depth_mm, reach_mm(task.cutter)))
        deepest_mm = _deepest_mm(axis, groove)
        pace = replace(
            pace_of(task.data, task.machine), depth_weight=min(groove.slope, 1.0)
        )  # what counts is how far a groove's edge moves
        findings = depth_findings(cut, groove, deepest_mm, axis, task.board)
        report(0.4, "laying out floors")
        walls = inset(task.area, groove.full_radius_mm)
        finish = floor_finish(walls, inset(task.milled, rest_margin_mm(groove)), groove)
        refuse_endless(finish, pace, task.milled_with)
        cover = finishing_cover(finish, floor_middles(axis, groove), groove)
        report(0.6, "joining and ordering grooves")
        strands, dots_mm = groove_strands(axis, walls, groove, task.milled), dots(axis, groove)
        if task.bare is not None:
            strands = reaching(strands, task.bare, groove)
            dots_mm = reaching_dots(dots_mm, task.bare, groove)
        passes_mm = pass_depths_mm(deepest_mm, task.data.pass_depth_mm)
        work = _VeeWork(groove, strands, dots_mm, finish, cover)
        paths, floor_mm = _vee_paths(work, passes_mm, pace, report)
        findings += floor_findings(finish.area, task.milled_with, floor_mm / pace.feed_mm_per_min)
        return Ways(paths=tuple(paths), findings=findings)


MIDDLES = MiddleLines()


@dataclass(frozen=True, slots=True, eq=False)
class _VeeWork:
    """All that the V-bit has to do, at its final depth."""

    groove: Groove
    strands: Strands  # walls and strokes
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
        lift_mm = pace.lift_worth_at(depth_mm)
        runs = finishing_runs(work.finish, work.cover, depth_mm, work.groove, lift_mm)
        net = attached(level(work.strands, upper_mm, -depth_mm), runs, work.finish.room, lift_mm)
        floor = Floor(work.finish.room, -depth_mm)
        paths += linked_paths(net, pace, _dots_at(work.dots_mm, upper_mm, -depth_mm), here_mm, floor)
        floor_mm += sum(length_mm(run) for run in runs)
        here_mm, upper_mm = (paths[-1].points_mm[-1, :2] if paths else here_mm), -depth_mm
    return paths, floor_mm


def _dots_at(dots_mm: Floats, upper_mm: float, lower_mm: float) -> Floats:
    """Return the dots of one depth pass."""
    deep_mm = dots_mm[dots_mm[:, 2] < upper_mm].copy()
    np.maximum(deep_mm[:, 2], lower_mm, out=deep_mm[:, 2])
    return deep_mm


def _deepest_mm(axis: MedialAxis, groove: Groove) -> float:
    widest_mm = float(axis.nodes_mm[:, 2].max(initial=0.0))
    return max(0.0, min(groove.depth_mm, (widest_mm - groove.tip_radius_mm) / groove.slope))
