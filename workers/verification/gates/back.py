"""The back: is a head lifted under wood, is the face's carving met, and is it cut as designed and first?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from workers.values.design import Board, Hanger
from workers.values.finding import Finding, Severity
from workers.values.hanger_shape import LEAST_FRONT_MM, lip_mm
from workers.values.program import Program
from workers.verification.behind import BackExhibit, Behind
from workers.verification.evidence import Exhibit, in_more_motions
from workers.verification.grid import Grid
from workers.verification.tolerances import DEPTH_MM, FREED_SHARE, RAPID_MM, RIM_MM

Floats = NDArray[np.float32]


def seen_from_the_front(findings: Sequence[Finding], board: Board) -> list[Finding]:
    """Return findings of the back with their places in the front's frame, as the order speaks of them."""
    return [
        replace(found, at_mm=(round(board.width_mm - found.at_mm[0], 3), found.at_mm[1]))
        if found.at_mm
        else found
        for found in findings
    ]


def lifted_findings(exhibit: BackExhibit) -> list[Finding]:
    """Return a finding when a T-shaped head is lifted anywhere but where it stands open above it."""
    hits = np.flatnonzero(exhibit.lifted_mm > RAPID_MM)
    if not len(hits):
        return []
    first = int(hits[0])
    others = in_more_motions(len(hits) - 1)
    return [
        Finding(
            code="lifted-in-slot",
            severity=Severity.ERROR,
            message=(
                f"{exhibit.line_of(first)}: {exhibit.cutter.name} is lifted "
                f"{exhibit.lifted_mm[first]:.3f} mm into the wood over its head{others}"
            ),
            remedy="go back along the slot to its entry, and lift the bit only there",
            at_mm=exhibit.end_of(first),
        )
    ]


def breaks_through_findings(behind: Behind) -> list[Finding]:
    """Return a finding when too little wood is left between the back and what is carved into the face."""
    wood_mm = behind.wood_mm()
    if np.isnan(wood_mm).all():
        return []
    row, column = np.unravel_index(int(np.nanargmin(wood_mm)), wood_mm.shape)
    left_mm = float(wood_mm[row, column])
    if left_mm >= LEAST_FRONT_MM - DEPTH_MM:
        return []
    cut_mm, carved_mm = behind.stock.deepest_mm[row, column], behind.carved_mm[row, column]
    found = f"{left_mm:.2f} mm of wood are left" if left_mm > 0 else "nothing is left"
    return [
        Finding(
            code="hanger-breaks-through",
            severity=Severity.ERROR,
            message=(
                f"{found} between the back, cut {cut_mm:.2f} mm deep, and the face, carved "
                f"{carved_mm:.2f} mm deep; {LEAST_FRONT_MM:g} mm must stay"
            ),
            remedy="cut the back less deep, or elsewhere; look whether it was mirrored, and at its zero",
            at_mm=behind.grid.centre_of(int(row), int(column)),
        )
    ]


def order_findings(programs: Sequence[Program], exhibits: Sequence[Exhibit]) -> list[Finding]:
    """Return a finding when the back is cut after the face: an error if the board is cut free by then.

    Args:
        programs: In the order in which they run.
        exhibits: Of the face.
    """
    behind = [place for place, program in enumerate(programs) if program.from_behind]
    earlier = [one for one in exhibits if behind and programs.index(one.program) < behind[-1]]
    if not earlier:
        return []
    last = programs[behind[-1]]
    freed = max(one.freed_fraction for one in earlier) >= FREED_SHARE
    why = ", which has cut the board free" if freed else ""
    return [
        Finding(
            code="back-not-first",
            severity=Severity.ERROR if freed else Severity.WARNING,
            message=f"{last.name} cuts the back after {earlier[-1].program.name}{why}",
            remedy="cut the back first, while the board is whole and flat, then turn it over",
        )
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotDeviation:
    """How far the back is from its design, mm: most of both sides, and the places, as the board lies."""

    over_mm: float
    under_mm: float
    over_at_mm: tuple[float, float]
    under_at_mm: tuple[float, float]


def slot_deviation(behind: Behind) -> SlotDeviation | None:
    """Return how far the back is from the designed hangers; None where no design is known.

    Too much is a bottom too deep, or a lip too thin; too little a bottom too high, or wood over the head
    where none should be, or more than should be. Beside the upright walls, a rim says nothing.
    """
    if behind.hangers is None:
        return None
    bottom_mm, cover_mm = _designed(behind.hangers, behind.grid)
    deep_mm = behind.stock.deepest_mm - bottom_mm
    thick_mm = behind.stock.cover_mm() - cover_mm
    lip = cover_mm > 0
    thick_mm[~(bottom_mm > 0) | (behind.stock.deepest_mm <= 0)] = np.nan
    over_mm = np.fmax(deep_mm, np.where(lip, -thick_mm, np.float32(np.nan)))
    under_mm = np.fmax(-deep_mm, thick_mm)
    over, over_at_mm = _worst(over_mm, behind.grid)
    under, under_at_mm = _worst(under_mm, behind.grid)
    return SlotDeviation(over_mm=over, under_mm=under, over_at_mm=over_at_mm, under_at_mm=under_at_mm)


def slot_findings(deviation: SlotDeviation | None) -> list[Finding]:
    """Return a finding for each side on which the back is off."""
    if deviation is None:
        return []
    sides = (
        (
            "hanger-overcut",
            deviation.over_mm,
            deviation.over_at_mm,
            "too much: a slot too deep, a lip too thin, or a cut where none was ordered",
        ),
        (
            "hanger-undercut",
            deviation.under_mm,
            deviation.under_at_mm,
            "too little: a slot too shallow, narrow or short, or not there",
        ),
    )
    return [
        Finding(
            code=code,
            severity=Severity.ERROR,
            message=f"the back is cut up to {off_mm:.3f} mm {what}; {DEPTH_MM:g} mm is allowed",
            remedy="check the bit, the zero on the back and that x is mirrored; make the program again",
            at_mm=at_mm,
        )
        for code, off_mm, at_mm, what in sides
        if off_mm > DEPTH_MM
    ]


def _designed(hangers: Sequence[Hanger], grid: Grid) -> tuple[Floats, Floats]:
    """Return how deep each cell shall be cut, and how much wood shall lie over that; nan beside walls."""
    shape = (grid.rows, grid.columns)
    bottom_mm, cover_mm = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    x_mm = (grid.left_mm + (np.arange(grid.columns) + 0.5) * grid.cell_mm)[np.newaxis, :]
    y_mm = (grid.bottom_mm + (np.arange(grid.rows) + 0.5) * grid.cell_mm)[:, np.newaxis]
    for hanger in hangers:
        head_mm, neck_mm = hanger.cutter.diameter_mm / 2, hanger.cutter.neck_mm / 2
        foot_mm = np.clip(y_mm, hanger.y_mm, hanger.y_mm + hanger.length_mm)
        off_mm = np.hypot(x_mm - hanger.x_mm, y_mm - foot_mm)
        entry_mm = np.hypot(x_mm - hanger.x_mm, y_mm - hanger.y_mm)
        is_cut = off_mm < head_mm
        covered = is_cut & (off_mm >= neck_mm) & (entry_mm >= head_mm)
        bottom_mm[is_cut] = hanger.depth_mm
        cover_mm[covered] = lip_mm(hanger)
        at_wall = np.abs(off_mm - head_mm) < RIM_MM
        at_wall |= is_cut & (np.minimum(np.abs(off_mm - neck_mm), np.abs(entry_mm - head_mm)) < RIM_MM)
        bottom_mm[at_wall] = cover_mm[at_wall] = np.nan
    return bottom_mm, cover_mm


def _worst(off_mm: Floats, grid: Grid) -> tuple[float, tuple[float, float]]:
    if np.isnan(off_mm).all():
        return 0.0, grid.centre_of(0, 0)
    row, column = np.unravel_index(int(np.nanargmax(off_mm)), off_mm.shape)
    return max(0.0, float(off_mm[row, column])), grid.centre_of(int(row), int(column))
