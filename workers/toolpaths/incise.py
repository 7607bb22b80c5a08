"""Everything the ink asks for: floors with end mills, then all the rest with the V-bit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import shapely

from workers.contracts.strategy import Strategy
from workers.geometry.polygon_repair import region_of
from workers.geometry.vee import reach_mm
from workers.toolpaths.groove import groove_of
from workers.toolpaths.middles import MIDDLES
from workers.toolpaths.milled_floors import MilledFloors, milled_floors
from workers.toolpaths.open_ground import open_ground
from workers.toolpaths.shop import Shop
from workers.toolpaths.strategy_call import ways_by
from workers.toolpaths.tier_work import tier_works
from workers.values.cuts import ClearCut, InciseCut
from workers.values.cutter import EndMill
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.cutting_task import CuttingTask
from workers.values.design import Design
from workers.values.finding import Finding
from workers.values.progress import Reporter, partly
from workers.values.region import Region
from workers.values.tiers import tiers_of

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
        cut: The V-bit and how deep it may go, in several tones each; lowered to what the bit can reach.
        clear: The end mills for floors, if there are any.
        shop: Material and machine.
        report: Told how far it is.
        patterns: The strategies chosen, by kind; the built-in ones where none is.

    Raises:
        NotCuttableError: A groove would go right through the board, floors would take hours, or a
            strategy fails.
        ParameterOutOfRangeError: The design has other tones than there are depth limits.
    """
    if design.ink.polygons.is_empty:
        return Incised(cleared=[], incised=[], findings=())
    patterns = patterns or {}
    over_edge = open_ground(design, groove_of(cut.cutter, min(cut.depth_limit_mm, reach_mm(cut.cutter))))
    if over_edge is not None:
        design = replace(design, ink=over_edge.ink)
    works = tier_works(tiers_of(design, cut))
    floors = MilledFloors(paths=[], milled=[Region(shapely.MultiPolygon())] * len(works), findings=())
    if clear:
        strategy = patterns.get(OperationKind.CLEAR)
        mills_report = partly(report, 0.0, 0.2)
        floors = milled_floors(works, clear, over_edge, design.board, shop, strategy, mills_report)
    waste = over_edge.waste if over_edge is not None else Region(shapely.MultiPolygon())
    incised: list[CutPath] = []
    findings = list(floors.findings)
    for number, (work, milled) in enumerate(zip(works, floors.milled, strict=True)):
        task = CuttingTask(
            kind=OperationKind.INCISE,
            cutter=cut.cutter,
            area=work.ink,
            room=work.ink,
            depth_mm=work.limit_mm,
            board=design.board,
            machine=shop.machine,
            data=shop.data(cut.cutter, OperationKind.INCISE),
            milled=_together(milled, work.deeper, waste),
            milled_with=clear.mills if clear else (),
            bare=work.bare,
        )
        share = 0.75 / len(works)
        told = partly(report, 0.2 + share * number, 0.2 + share * (number + 1))
        ways = ways_by(patterns.get(OperationKind.INCISE, MIDDLES), task, told)
        incised += ways.paths
        findings += [work.about(finding) for finding in ways.findings]
    return Incised(cleared=floors.paths, incised=incised, findings=tuple(findings))


def _together(first: Region, *others: Region) -> Region:
    """Return areas as one."""
    for other in others:
        if not other.polygons.is_empty:
            first = region_of(first.polygons.union(other.polygons))
    return first
