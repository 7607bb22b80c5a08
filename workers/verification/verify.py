"""Programs against the design and the limits: reads, cuts in simulation, compares, judges."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from workers.simulation.stock import Stock
from workers.values.cuts import CutoutCut, DrillCut, InciseCut
from workers.values.design import Board, Design
from workers.values.finding import Finding, Severity
from workers.values.keep_out import KeepOut
from workers.values.machine import Machine
from workers.values.material import Material
from workers.values.program import Program
from workers.values.progress import Reporter, silent
from workers.values.proof import BackRecord, Proof
from workers.verification.behind import Behind, cut_from_behind, field_behind
from workers.verification.comparison import Comparison, compare
from workers.verification.designed_depth import designed_depth
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.exhibits import cut_all, read_all
from workers.verification.gates.aside import aside_findings
from workers.verification.gates.back import (
    SlotDeviation,
    breaks_through_findings,
    lifted_findings,
    order_findings,
    seen_from_the_front,
    slot_deviation,
    slot_findings,
)
from workers.verification.gates.bit_changes import change_findings
from workers.verification.gates.chips import chip_findings
from workers.verification.gates.clamps import clamp_findings
from workers.verification.gates.depth_limits import depth_findings
from workers.verification.gates.holding import cutout_findings, edge_findings, freed_findings, loose_findings
from workers.verification.gates.machine_limits import envelope_findings, feed_findings, spindle_findings
from workers.verification.gates.openings import opening_findings
from workers.verification.gates.passes import pass_findings
from workers.verification.gates.pecks import peck_findings
from workers.verification.gates.reading import nothing_cut_findings, remark_findings
from workers.verification.gates.rubbing import rubbing_findings
from workers.verification.gates.stock_collision import stock_collision_findings
from workers.verification.gates.surface import surface_findings
from workers.verification.gates.text import text_findings
from workers.verification.gates.units import units_findings
from workers.verification.grid import Grid, grid_over
from workers.verification.outline_ring import (
    Bridge,
    bridges_of,
    left_of,
    outline_of,
    ring_round,
)
from workers.verification.program_record import record_of
from workers.verification.stretches import Reading, Stretch
from workers.verification.tolerances import (
    CELL_MM,
    DEPTH_MM,
    EDGE_CELLS,
    surface_tolerance_mm,
)
from workers.verification.verified import Verified
from workers.verification.waivers import with_waivers

_ORDER = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


def verify(
    programs: Sequence[Program],
    board: Board,
    machine: Machine,
    design: Design | None = None,
    incise: InciseCut | None = None,
    cutout: CutoutCut | None = None,
    cell_mm: float | None = None,
    report: Reporter = silent,
    keep_outs: Sequence[KeepOut] = (),
    waivers: Mapping[str, str] = MappingProxyType({}),
    drill: DrillCut | None = None,
    material: Material | None = None,
) -> Verified:
    """Return the proof of programs, whether it passes or not.

    Args:
        programs: In the order in which they run, each with its bit or bits; ours or anybody's.
        board: What they are run on; its lower left corner and face are the work origin.
        machine: What runs them.
        design: What they shall make; None leaves overcut and undercut unknown.
        incise: Bit and depth limit for the design's ink; without it ink is not compared.
        cutout: How the board shall be cut free.
        cell_mm: Side of a cell; None chooses.
        report: Told how far it is.
        keep_outs: Where clamps stand.
        waivers: Reasons for letting errors pass, by gate.
        drill: How holes shall be drilled; None: by the trade's rule.
        material: Of the board, for what each tooth may take; None leaves that unjudged.

    Raises:
        ParameterOutOfRangeError: Such small cells would be too many.
    """
    grid = grid_over(board, cutout, cell_mm)
    outline = design.outline if design else outline_of(board)
    past_edge_mm = design.past_edge_mm if design else 0.0
    open_edge = outline if past_edge_mm else None
    ordered = cutout
    if cutout:
        cutout = replace(cutout, tabs_count=cutout.tabs_on(outline.exterior.length))
    eaten_mm = max(cutout.eaten_mm, 0.0) if cutout else 0.0
    if eaten_mm:  # on or inside the line: what is left of the board is smaller
        outline = left_of(outline, eaten_mm)
        design = replace(design, outline=outline) if design else None
    circumstances = Circumstances(
        board=board,
        outline=outline,
        machine=machine,
        incise=incise,
        cutout=cutout,
        drill=drill,
        material=material,
        keep_outs=tuple(keep_outs),
        open_edge=open_edge,
        past_edge_mm=past_edge_mm,
    )
    findings = _grid_findings(grid, cell_mm)
    readings, stretches, unreadable = read_all(programs, report)
    stock = Stock(grid.left_mm, grid.bottom_mm, grid.right_mm, grid.top_mm, grid.cell_mm)
    face_up = [stretch for stretch in stretches if not stretch.program.from_behind]
    exhibits = cut_all(face_up, stock, grid, circumstances, report)
    behind = cut_from_behind(
        [stretch for stretch in stretches if stretch.program.from_behind],
        design.hangers if design else None,
        circumstances,
        stock.depth_mm,
        grid,
    )
    findings += unreadable + [found for program in programs for found in text_findings(program)]
    findings += _reading_findings(readings, [*exhibits, *(behind.exhibits if behind else ())], machine)
    findings += _gate_findings(exhibits, circumstances) + freed_findings(exhibits, circumstances)
    findings += order_findings(programs, exhibits)
    slots = slot_deviation(behind) if behind and not unreadable else None
    findings += _back_findings(behind, slots) if behind else []
    findings += units_findings(exhibits, circumstances, design)
    bridges: tuple[Bridge, ...] | None = None
    if cutout and not unreadable:
        ring = ring_round(outline, cutout.cutter.diameter_mm / 2, stock.depth_mm, grid)
        bridges = bridges_of(ring, board.thickness_mm, cutout.tab_width_mm)
        findings += cutout_findings(ring, bridges, board.thickness_mm, cutout, grid.cell_mm)
        edge = ring_round(outline, EDGE_CELLS * grid.cell_mm, stock.depth_mm, grid)
        findings += edge_findings(edge, bridges, board.thickness_mm, cutout)
    findings += loose_findings(exhibits)
    if design and not unreadable:
        findings += opening_findings(design, ordered, stock.depth_mm, grid)
    comparison, tolerance_mm = None, None
    if design and (incise or design.ink.polygons.is_empty) and not unreadable:
        report(0.6, "measuring the carved surface against the design")
        tolerance_mm = surface_tolerance_mm(incise.cutter.included_angle_deg) if incise else DEPTH_MM
        designed_mm = designed_depth(design, incise, grid)
        comparison = compare(stock.depth_mm, designed_mm, grid, board.thickness_mm, tolerance_mm)
        findings += surface_findings(comparison, tolerance_mm)
    findings = with_waivers(findings, waivers)
    findings.sort(key=lambda finding: _ORDER[finding.severity])
    return Verified(
        proof=_proof(readings, stretches, machine, findings, comparison, stock, behind, slots),
        field=stock.field(),
        tolerance_mm=tolerance_mm,
        compared_cells=comparison.compared_cells if comparison else 0,
        bridges_count=None if bridges is None else len(bridges),
        field_behind=field_behind(behind, stock.depth_mm, grid) if behind else None,
    )


def _grid_findings(grid: Grid, asked_mm: float | None) -> list[Finding]:
    if asked_mm is not None or grid.cell_mm <= CELL_MM:
        return []
    return [
        Finding(
            code="coarser-cells",
            severity=Severity.NOTE,
            message=f"so large a board was proved with cells of {grid.cell_mm:.2f} mm, not {CELL_MM} mm",
            remedy="nothing to do; strokes thinner than two cells are proved less surely",
        )
    ]


def _reading_findings(
    readings: Sequence[Reading], exhibits: Sequence[Exhibit], machine: Machine
) -> list[Finding]:
    """What concerns a program as a whole, whichever bits it changes to."""
    findings: list[Finding] = []
    for reading in readings:
        own = [exhibit for exhibit in exhibits if exhibit.program is reading.program]
        findings += change_findings(reading)
        findings += envelope_findings(reading, machine)
        findings += nothing_cut_findings(reading.program, own)
        findings += remark_findings(reading)
    return findings


def _gate_findings(exhibits: Sequence[Exhibit], circumstances: Circumstances) -> list[Finding]:
    machine = circumstances.machine
    findings: list[Finding] = []
    for exhibit in exhibits:
        findings += stock_collision_findings(exhibit)
        findings += clamp_findings(exhibit, circumstances)
        findings += depth_findings(exhibit, circumstances)
        findings += rubbing_findings(exhibit, circumstances)
        findings += aside_findings(exhibit, circumstances)
        findings += peck_findings(exhibit, circumstances)
        findings += pass_findings(exhibit, circumstances)
        findings += spindle_findings(exhibit, machine)
        findings += feed_findings(exhibit, machine)
        findings += chip_findings(exhibit, circumstances)
    return findings


def _back_findings(behind: Behind, slots: SlotDeviation | None) -> list[Finding]:
    """What concerns the back; places as seen from the front."""
    findings = _gate_findings(behind.exhibits, behind.circumstances)
    for exhibit in behind.exhibits:
        findings += lifted_findings(exhibit)
    findings += breaks_through_findings(behind) + slot_findings(slots)
    return seen_from_the_front(findings, behind.circumstances.board)


def _back_record(behind: Behind, slots: SlotDeviation | None) -> BackRecord:
    wood_mm = behind.wood_mm()
    return BackRecord(
        cut_volume_mm3=behind.stock.volume_mm3(),
        least_wood_mm=None if np.isnan(wood_mm).all() else float(np.nanmin(wood_mm)),
        overcut_mm=slots.over_mm if slots else None,
        undercut_mm=slots.under_mm if slots else None,
    )


def _proof(
    readings: Sequence[Reading],
    stretches: Sequence[Stretch],
    machine: Machine,
    findings: Sequence[Finding],
    comparison: Comparison | None,
    stock: Stock,
    behind: Behind | None,
    slots: SlotDeviation | None,
) -> Proof:
    records = tuple(
        record_of(reading, [one for one in stretches if one.program is reading.program], machine)
        for reading in readings
    )
    return Proof(
        passed=not any(finding.stops for finding in findings),
        findings=tuple(findings),
        overcut=comparison.overcut if comparison else None,
        undercut=comparison.undercut if comparison else None,
        carved_volume_mm3=float(stock.depth_mm.sum(dtype=np.float64)) * stock.cell_mm**2,
        programs=records,
        seconds_s=sum(record.seconds_s for record in records),
        back=_back_record(behind, slots) if behind else None,
    )
