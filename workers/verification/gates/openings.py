"""Is each opening cut through, and does the piece in a large one stay until it is sawn out?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from workers.values.cuts import CutoutCut
from workers.values.design import Design, Opening
from workers.values.finding import Finding, Severity
from workers.values.opening_outline import leaves_core, opening_outline
from workers.verification.gates.holding import cutout_findings
from workers.verification.grid import Grid
from workers.verification.outline_ring import bridges_of, freed_fraction, ring_round
from workers.verification.tolerances import EDGE_CELLS, FREED_SHARE

_WHOLE = 0.999  # of an opening's edge cut through: a cell or two of chance


def opening_findings(
    design: Design, cutout: CutoutCut | None, depth_mm: NDArray[np.float32], grid: Grid
) -> list[Finding]:
    """Return a finding for each opening that is not as ordered.

    Args:
        design: Its openings.
        cutout: The bit and the tabs of pieces inside; without it half of an edge may be tabs.
        depth_mm: The carved depth.
        grid: Where its cells are.
    """
    found: list[Finding] = []
    for number, opening in enumerate(design.openings, 1):
        outline = opening_outline(opening)
        thickness_mm = design.board.thickness_mm
        if cutout is None or not leaves_core(outline, cutout.cutter.diameter_mm):
            edge = ring_round(outline, -EDGE_CELLS * grid.cell_mm, depth_mm, grid)
            freed = freed_fraction(edge, thickness_mm)
            if freed < (_WHOLE if cutout else FREED_SHARE):
                found.append(_not_through(number, opening, freed))
            continue
        ring = ring_round(outline, -cutout.cutter.diameter_mm / 2, depth_mm, grid)
        bridges = bridges_of(ring, thickness_mm, cutout.tab_width_mm)
        wanted = cutout.round_an_opening()
        found += [
            replace(finding, message=f"opening {number}: {finding.message}")
            for finding in cutout_findings(ring, bridges, thickness_mm, wanted, grid.cell_mm)
        ]
    return found


def _not_through(number: int, opening: Opening, freed: float) -> Finding:
    return Finding(
        code="opening-not-through",
        severity=Severity.ERROR,
        message=f"opening {number} is cut through along {freed:.0%} of its edge only",
        remedy="add the program of the openings, or check the board's thickness in it",
        at_mm=(opening.x_mm, opening.y_mm),
    )
