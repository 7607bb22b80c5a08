"""Everything the ink asks for: floors with end mills, then all the rest with the V-bit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from workers.contracts.strategy import Strategy
from workers.geometry.offsets import inset
from workers.geometry.polygon_repair import region_of
from workers.geometry.vee import reach_mm
from workers.toolpaths.bit_findings import refuse_short_mills
from workers.toolpaths.clearance import Clearance, clearances_of, cleared_by
from workers.toolpaths.clearing_strategies import LINES, OUTWARDS, RINGS
from workers.toolpaths.engagement import evenly_loaded
from workers.toolpaths.groove import groove_of
from workers.toolpaths.middles import MIDDLES
from workers.toolpaths.open_ground import open_ground
from workers.toolpaths.shop import Shop
from workers.toolpaths.strategy_call import ways_by
from workers.values.cuts import ClearCut, InciseCut
from workers.values.cutter import Cutter, EndMill
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.cutting_task import CuttingTask
from workers.values.design import Design
from workers.values.finding import Finding
from workers.values.progress import Reporter, partly

Patterns = Mapping[OperationKind, Strategy]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Incised:
    """Paths of the end mills, each with its own, and of the V-bit."""

    cleared: list[tuple[EndMill, list[CutPath]]]
    incised: list[CutPath]
    findings: tuple[Finding, ...]


def incise_paths(
    design: Design,
    cut: InciseCut,
    clear: ClearCut | None,
    shop: Shop,
    report: Reporter,
    patterns: Patterns | None = None,
) -> Incised:
    """Return the paths that cut a design's ink.

    Args:
        design: The sign.
        cut: The V-bit and how deep it may go; lowered to what the bit can reach.
        clear: The end mills for floors, if there are any.
        shop: Material and machine.
        report: Told how far it is.
        patterns: The strategies chosen, by kind; the built-in ones where none is.

    Raises:
        NotCuttableError: A groove would go right through the board, floors would take hours, or a
            strategy fails.
    """
    if design.ink.polygons.is_empty:
        return Incised(cleared=[], incised=[], findings=())
    patterns = patterns or {}
    groove = groove_of(cut.cutter, min(cut.depth_limit_mm, reach_mm(cut.cutter)))
    over_edge = open_ground(design, groove)
    if over_edge is not None:
        design = replace(design, ink=over_edge.ink)
    task = _task(design, OperationKind.INCISE, cut.cutter, cut.depth_limit_mm, shop)
    cleared: list[tuple[EndMill, list[CutPath]]] = []
    findings: tuple[Finding, ...] = ()
    if clear:
        if not inset(design.ink, groove.full_radius_mm).polygons.is_empty:
            refuse_short_mills(clear, groove.depth_mm)
        clearances = clearances_of(design.ink, groove.slope * groove.depth_mm, clear, over_edge)
        floor = _task(design, OperationKind.CLEAR, clear.mills[0], groove.depth_mm, shop)
        strategy = patterns.get(OperationKind.CLEAR, RINGS if clear.grain_deg is None else LINES)
        for mill, work, pattern in _floor_work(floor, clearances, clear, shop, strategy):
            ways = ways_by(pattern, work, partly(report, 0.0, 0.2))
            cleared.append((mill, [*ways.paths]))
            findings += ways.findings
        if clear.engagement_deg is not None:
            cleared = evenly_loaded(cleared, clear.engagement_deg)
        task = replace(task, milled=cleared_by(clearances, 0.0), milled_with=clear.mills)
    if over_edge is not None:
        task = replace(task, milled=region_of(task.milled.polygons.union(over_edge.waste.polygons)))
    ways = ways_by(patterns.get(OperationKind.INCISE, MIDDLES), task, partly(report, 0.2, 0.95))
    return Incised(cleared=cleared, incised=[*ways.paths], findings=findings + ways.findings)


def _task(design: Design, kind: OperationKind, cutter: Cutter, depth_mm: float, shop: Shop) -> CuttingTask:
    """Return a task over all the ink."""
    return CuttingTask(
        kind=kind,
        cutter=cutter,
        area=design.ink,
        room=design.ink,
        depth_mm=depth_mm,
        board=design.board,
        machine=shop.machine,
        data=shop.data(cutter, kind),
    )


def _floor_work(
    floor: CuttingTask, clearances: list[Clearance], cut: ClearCut, shop: Shop, strategy: Strategy
) -> Iterator[tuple[EndMill, CuttingTask, Strategy]]:
    """Yield what each mill does; a pattern is for the first, the others follow walls or go outwards too."""
    for number, clearance in enumerate(clearances):
        data = shop.data(clearance.mill, OperationKind.CLEAR)
        task = replace(
            floor,
            cutter=clearance.mill,
            area=clearance.centres,
            room=clearance.room,
            milled=clearance.milled,
            data=replace(data, pass_depth_mm=cut.pass_depth_mm or data.pass_depth_mm),
            climb=cut.climb,
            grain_deg=cut.grain_deg,
            engagement_deg=cut.engagement_deg,
        )
        yield clearance.mill, task, RINGS if number and strategy is not OUTWARDS else strategy
