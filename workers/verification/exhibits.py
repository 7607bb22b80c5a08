"""Programs read, and cut one after the other in simulation: the exhibits of a proof."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from workers.errors import UnreadableProgramError
from workers.interpretation.interpreter import read_program
from workers.simulation.stock import Stock
from workers.values.finding import Finding, Severity
from workers.values.program import Program, Trace
from workers.values.progress import Reporter
from workers.values.region import Region
from workers.verification.designed_depth import inside_of
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.gates.reading import unreadable_finding
from workers.verification.grid import Grid
from workers.verification.loose_parts import LooseParts, loose_parts
from workers.verification.outline_ring import freed_fraction, ring_round
from workers.verification.over_edges import traverses_in_stock, watch_on
from workers.verification.stretches import Reading, Stretch, stretches_of
from workers.verification.tolerances import CRUMB_MM2, DEPTH_ROUNDING_MM


def read_all(
    programs: Sequence[Program], report: Reporter
) -> tuple[list[Reading], list[Stretch], list[Finding]]:
    """Return the programs that can be cut, what each bit does in them in turn, and why others cannot."""
    readings: list[Reading] = []
    stretches: list[Stretch] = []
    unreadable: list[Finding] = []
    for done, program in enumerate(programs):
        report(0.2 * done / len(programs), f"reading {program.name}")
        try:
            reading = Reading(program=program, trace=read_program(program.text, program.name))
        except UnreadableProgramError as error:
            unreadable.append(unreadable_finding(error))
            continue
        found, objections = stretches_of(reading)
        unreadable += objections
        if not objections:
            readings.append(reading)
            stretches += found
    if not programs:
        unreadable.append(
            Finding(
                code="nothing-cut", severity=Severity.ERROR, message="no program at all", remedy="send one"
            )
        )
    return readings, stretches, unreadable


def cut_all(
    stretches: Sequence[Stretch],
    stock: Stock,
    grid: Grid,
    circumstances: Circumstances,
    report: Reporter,
) -> list[Exhibit]:
    """Cut with one bit after the other and keep what each of them did."""
    exhibits: list[Exhibit] = []
    carved_mm = 0.0  # summed over the cells
    for done, stretch in enumerate(stretches):
        trace, cutter = stretch.trace, stretch.cutter
        report(0.2 + 0.4 * done / len(stretches), f"cutting {stretch.program.name} in simulation")
        before_mm = carved_mm
        watch = watch_on(cutter, circumstances.machine, circumstances.material, grid.cell_mm)
        removed_mm, touched_mm = stock.cut_and_touch(
            trace,
            cutter,
            traverses_in_stock(trace),
            watch.collars,
            lambda: without_stock(circumstances, grid),
        )
        sunk_mm, too_deep_mm = watch.told_apart(touched_mm)
        carved_mm = float(stock.depth_mm.sum(dtype=np.float64))
        ring = ring_round(circumstances.outline, cutter.diameter_mm / 2, stock.depth_mm, grid)
        exhibits.append(
            Exhibit(
                program=stretch.program,
                trace=trace,
                cutter=cutter,
                number=stretch.number,
                removed_mm=removed_mm,
                sunk_mm=sunk_mm,
                too_deep_mm=too_deep_mm,
                cut_cells=carved_mm > before_mm,
                freed_fraction=freed_fraction(ring, circumstances.board.thickness_mm),
                loose=_cut_loose(trace, stock, circumstances, grid),
            )
        )
    return exhibits


def _cut_loose(trace: Trace, stock: Stock, circumstances: Circumstances, grid: Grid) -> LooseParts | None:
    """Return what nothing holds after a bit has been through the board."""
    through_mm = circumstances.board.thickness_mm - DEPTH_ROUNDING_MM
    if trace.lowest_mm.min(initial=0.0) > -through_mm:
        return None
    return loose_parts(stock.depth_mm, through_mm, CRUMB_MM2, grid)


def without_stock(circumstances: Circumstances, grid: Grid) -> NDArray[np.bool_]:
    """Return the cells in which nothing ever stood: beside a board that is not cut out of a blank."""
    if circumstances.cutout is not None:
        return np.zeros((grid.rows, grid.columns), np.bool_)
    return ~inside_of(Region(MultiPolygon([circumstances.outline])), grid)
