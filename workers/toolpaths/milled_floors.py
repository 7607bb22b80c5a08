"""The floors of all tones with end mills: mill after mill, of each the deepest floors first.

A mill that has cut a darker tone's floor finds that much less of the paler one around it, and goes down
into it from there, sideways.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from workers.contracts.strategy import Strategy
from workers.geometry.offsets import inset
from workers.toolpaths.bit_findings import refuse_short_mills
from workers.toolpaths.clearance import Clearance, clearance_by, cleared_by
from workers.toolpaths.clearing_strategies import LINES, OUTWARDS, RINGS
from workers.toolpaths.engagement import evenly_loaded
from workers.toolpaths.open_ground import OpenGround
from workers.toolpaths.shop import Shop
from workers.toolpaths.strategy_call import ways_by
from workers.toolpaths.tier_work import TierWork
from workers.values.cuts import ClearCut
from workers.values.cutter import EndMill
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.cutting_task import CuttingTask, Ways
from workers.values.design import Board
from workers.values.finding import Finding
from workers.values.progress import Reporter
from workers.values.region import Region


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class MilledFloors:
    """Each mill's paths, and for each tone the floor that is at its depth, or deeper."""

    paths: list[tuple[EndMill, list[CutPath]]]
    milled: list[Region]
    findings: tuple[Finding, ...]


def milled_floors(
    works: Sequence[TierWork],
    clear: ClearCut,
    over_edge: OpenGround | None,
    board: Board,
    shop: Shop,
    strategy: Strategy | None,
    report: Reporter,
) -> MilledFloors:
    """Return what end mills cut of floors.

    Args:
        works: The tones, the darkest first.
        clear: The mills.
        over_edge: How far floors are cut that run out over the board's edge, where there are such.
        board: What they are cut into.
        shop: Material and machine.
        strategy: By which the first mill clears; None: rings, or lines if the order names a grain.
        report: Told how far it is.

    Raises:
        NotCuttableError: A mill is too short for the floors, or a strategy fails.
    """
    for work in works:
        if not inset(work.ink, work.groove.full_radius_mm).polygons.is_empty:
            refuse_short_mills(clear, work.groove.depth_mm)
    first = strategy or (RINGS if clear.grain_deg is None else LINES)
    done: list[list[Clearance]] = [[] for _ in works]
    paths: list[tuple[EndMill, list[CutPath]]] = []
    findings: tuple[Finding, ...] = ()
    for number, mill in enumerate(clear.mills):
        pattern = RINGS if number and first is not OUTWARDS else first
        cut: list[CutPath] = []
        for place, work in enumerate(works):
            foot_mm = work.groove.slope * work.groove.depth_mm
            clearance = clearance_by(mill, work.ink, foot_mm, _as_deep(done, place), over_edge)
            ways = _ways(clearance, work.groove.depth_mm, clear, board, shop, pattern, report)
            cut += ways.paths
            findings += ways.findings
            done[place].append(clearance)
        paths.append((mill, cut))
    if clear.engagement_deg is not None:
        paths = evenly_loaded(paths, clear.engagement_deg)
    milled = [cleared_by(_as_deep(done, place), 0.0) for place in range(len(works))]
    return MilledFloors(paths=paths, milled=milled, findings=findings)


def _as_deep(done: Sequence[Sequence[Clearance]], place: int) -> list[Clearance]:
    """Return what is done on the floors of a tone, and on all deeper ones."""
    return [clearance for floors in done[: place + 1] for clearance in floors]


def _ways(
    clearance: Clearance,
    depth_mm: float,
    cut: ClearCut,
    board: Board,
    shop: Shop,
    pattern: Strategy,
    report: Reporter,
) -> Ways:
    """Return a mill's ways on one tone's floors."""
    data = shop.data(clearance.mill, OperationKind.CLEAR)
    task = CuttingTask(
        kind=OperationKind.CLEAR,
        cutter=clearance.mill,
        area=clearance.centres,
        room=clearance.room,
        depth_mm=depth_mm,
        board=board,
        machine=shop.machine,
        data=replace(data, pass_depth_mm=cut.pass_depth_mm or data.pass_depth_mm),
        climb=cut.climb,
        grain_deg=cut.grain_deg,
        engagement_deg=cut.engagement_deg,
        milled=clearance.milled,
    )
    return ways_by(pattern, task, report)
