"""From a design and the bits at hand to all cut paths, in the order of the machine."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from workers.errors import NotCuttableError
from workers.toolpaths.bit_findings import unused_findings
from workers.toolpaths.clamps import clamp_findings, lifted_over
from workers.toolpaths.cutout import Cutout, cutout_of, refuse_short_bit
from workers.toolpaths.cutout_findings import (
    cutout_findings,
    refuse_hardly_cut,
    refuse_missing_tabs,
    refuse_tabs_in_ground,
)
from workers.toolpaths.cutout_leads import lead_beside
from workers.toolpaths.cutout_passes import cutout_paths
from workers.toolpaths.drilling import hole_paths
from workers.toolpaths.hangers import hanger_paths, refuse_misfit_hangers
from workers.toolpaths.incise import Patterns, incise_paths
from workers.toolpaths.leads import Lead
from workers.toolpaths.openings import opening_paths
from workers.toolpaths.shop import Shop
from workers.toolpaths.ways import with_low_ways
from workers.values.cuts import ClearCut, CutoutCut, DrillCut, InciseCut
from workers.values.cutter import Cutter
from workers.values.cutting_plan import CutPath, CuttingPlan, OperationKind
from workers.values.design import Design
from workers.values.finding import Finding, Severity
from workers.values.keep_out import KeepOut
from workers.values.machine import Machine
from workers.values.material import Material
from workers.values.progress import Reporter, silent

_PAST_MM = 0.3  # through holes without a cutout go this far into the bed (trade.md P-07)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Planned:
    """A plan, and what should be known about it."""

    plan: CuttingPlan
    findings: tuple[Finding, ...]


def plan(
    design: Design,
    incise: InciseCut,
    clear: ClearCut | None,
    cutout: CutoutCut | None,
    drill: DrillCut | None,
    material: Material,
    machine: Machine,
    report: Reporter = silent,
    keep_outs: Sequence[KeepOut] = (),
    patterns: Patterns | None = None,
) -> Planned:
    """Return every path for a sign: slots in the back first, last the cut that frees the board.

    The board is whole and flat while its back is up, so that it can be turned over on the same edges. Then
    come floors, grooves, holes and openings.

    Args:
        design: The sign in the board frame.
        incise: The V-bit and how deep it may go.
        clear: End mills for floors; without them the V-bit clears them.
        cutout: How the board is cut free, or None.
        drill: The bit for holes; without it the cutout's, or the clearing bit, mills them.
        material: The board's.
        machine: Its speeds and its clearance height.
        report: Told how far it is.
        keep_outs: Where clamps stand: traverses go over them, cuts stay clear of them.
        patterns: The strategies chosen, by kind of operation; the built-in ones where none is.

    Returns:
        The plan, without operations that have nothing to cut, and findings.

    Raises:
        ParameterOutOfRangeError: A bit of a kind that cannot do its work.
        NotCuttableError: A bit too short or too thick for what is asked, or a clamp in its way.
    """
    machine = lifted_over(keep_outs, machine, design.board.thickness_mm)
    shop = Shop(material=material, machine=machine)
    # the quick refusals come before the long computing
    free = cutout_of(design, cutout) if cutout else None
    if free and cutout:
        refuse_missing_tabs(free, cutout)
        refuse_hardly_cut(free, cutout)
        refuse_tabs_in_ground(design, incise, cutout)
    refuse_misfit_hangers(design, incise, cutout)
    lead = lead_beside(free, design.outline, cutout, machine, keep_outs) if free and cutout else None
    drilling = drill or _milled_holes(design, cutout, clear)
    hole_bit = drilling.cutter if drilling else None
    holes = _holes(design, drilling, cutout.past_mm if cutout else _PAST_MM, shop)
    opening_cut = cutout or openings_cut(clear)
    openings, opening_findings = opening_paths(design, opening_cut, shop)
    incised = incise_paths(design, incise, clear, shop, report, patterns)
    work: list[tuple[OperationKind, Cutter | None, list[CutPath]]] = [
        *((OperationKind.BACK, bit, paths) for bit, paths in hanger_paths(design, shop)),
        *((OperationKind.CLEAR, mill, paths) for mill, paths in incised.cleared),
        (OperationKind.INCISE, incise.cutter, incised.incised),
        (OperationKind.DRILL, hole_bit, holes),
        (OperationKind.OPENING, opening_cut.cutter if opening_cut else None, openings),
        (OperationKind.CUTOUT, cutout.cutter if cutout else None, _freed(free, cutout, lead, shop)),
    ]
    drill_bit = drill.cutter if drill else None
    asked = [(kind, drill_bit if kind is OperationKind.DRILL else bit, paths) for kind, bit, paths in work]
    findings = [*incised.findings, *unused_findings(asked), *opening_findings]
    if free and cutout:
        findings += cutout_findings(free, cutout, lead, design, material)
    report(1.0, "paths are planned")
    operations = [shop.operation(kind, bit, paths) for kind, bit, paths in work if bit and paths]
    cutting_plan = CuttingPlan(
        board=design.board,
        clearance_mm=machine.clearance_mm,
        spin_up_s=machine.spin_up_s,
        operations=tuple(
            with_low_ways(operation, design.outline, keep_outs, machine) for operation in operations
        ),
    )
    findings += clamp_findings(cutting_plan, keep_outs, machine)
    return Planned(plan=cutting_plan, findings=tuple(findings))


def _holes(design: Design, cut: DrillCut | None, past_mm: float, shop: Shop) -> list[CutPath]:
    if not design.holes:
        return []
    if cut is None:
        first = design.holes[0]
        finding = Finding(
            code="holes-without-bit",
            severity=Severity.ERROR,
            message=f"the board has {len(design.holes)} holes and no bit to make them",
            remedy="give 'drill', 'cutout' or 'clear' a bit, or leave the holes out",
            at_mm=(first.x_mm, first.y_mm),
        )
        raise NotCuttableError.for_findings(finding, field="/inputs/drill")
    bit, depth_mm = cut.cutter, design.board.thickness_mm + past_mm
    refuse_short_bit(bit, depth_mm, design.board.thickness_mm, past_mm, "/inputs/drill/bit")
    data = shop.data(bit, OperationKind.DRILL)
    pace = shop.pace(bit, OperationKind.DRILL)
    stepover_mm = data.stepover_fraction * bit.diameter_mm
    pass_mm = cut.peck_mm or data.pass_depth_mm
    return hole_paths(design.holes, bit, depth_mm, pass_mm, stepover_mm, pace, cut.dwell_s)


def _milled_holes(design: Design, cutout: CutoutCut | None, clear: ClearCut | None) -> DrillCut | None:
    """Return how holes are made without a bit of their own: milled with the first of the order's that can.

    The cutout's comes first, then those that clear, from the thinnest on; one that can is no wider than the
    narrowest hole and cuts through the board. If none can, the first is what the refusal speaks of.
    """
    mills = [*([cutout.cutter] if cutout else []), *(reversed(clear.mills) if clear else [])]
    narrowest_mm = min((hole.diameter_mm for hole in design.holes), default=math.inf)
    deep_mm = design.board.thickness_mm + (cutout.past_mm if cutout else _PAST_MM)
    able = [mill for mill in mills if mill.diameter_mm <= narrowest_mm and mill.cutting_length_mm >= deep_mm]
    return DrillCut(cutter=(able or mills)[0]) if mills else None


def openings_cut(clear: ClearCut | None) -> CutoutCut | None:
    """Return how openings are cut where the board itself is not: with the thinnest clearing bit."""
    if clear is None:
        return None
    return CutoutCut(
        cutter=clear.mills[-1], past_mm=_PAST_MM, tabs_count=None, tab_width_mm=6.0, tab_height_mm=2.0
    )


def _freed(free: Cutout | None, cut: CutoutCut | None, lead: Lead | None, shop: Shop) -> list[CutPath]:
    if free is None or cut is None:
        return []
    data = shop.data(cut.cutter, OperationKind.CUTOUT)
    pace = shop.pace(cut.cutter, OperationKind.CUTOUT)
    return cutout_paths(free, cut.pass_depth_mm or data.pass_depth_mm, pace, lead)
