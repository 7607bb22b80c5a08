"""Does the board stay where it is until everything is carved, and come free in the end?"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.values.cuts import CutoutCut
from workers.values.finding import Finding, Severity
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.outline_ring import Bridge, Ring, bridges_of, freed_fraction
from workers.verification.tolerances import (
    DEPTH_ROUNDING_MM,
    FREED_SHARE,
    RIM_MM,
    TAB_CELLS,
    TAB_HEIGHT_MM,
)


def freed_findings(exhibits: Sequence[Exhibit], circumstances: Circumstances) -> list[Finding]:
    """Return a finding when anything inside the board is cut after its outline is cut through."""
    for place, exhibit in enumerate(exhibits):
        if exhibit.freed_fraction < FREED_SHARE:
            continue
        later = _carving_after_freeing(exhibit, circumstances)
        if later is not None:
            return [_freed(exhibit, exhibit, int(exhibit.trace.lines[later]))]
        for other in exhibits[place + 1 :]:
            inside = np.flatnonzero(_carves_inside(other, circumstances))
            if len(inside):
                return [_freed(exhibit, other, int(other.trace.lines[inside[0]]))]
    return []


def _carves_inside(exhibit: Exhibit, circumstances: Circumstances) -> NDArray[np.bool_]:
    """Which motions are somewhere below the face and inside the outline, be it between their ends."""
    starts_mm, ends_mm = exhibit.trace.starts_mm, exhibit.trace.ends_mm
    inside = np.minimum(starts_mm[:, 2], ends_mm[:, 2]) < -DEPTH_ROUNDING_MM
    inner = circumstances.outline.buffer(-RIM_MM)
    shapely.prepare(inner)
    ways = np.asarray(
        shapely.linestrings(np.stack(_below_face_mm(starts_mm[inside], ends_mm[inside]), axis=1))
    )
    standing = shapely.length(ways) == 0
    ways[standing] = shapely.points(ends_mm[inside][standing, :2])
    inside[inside] = shapely.intersects(inner, ways)
    return inside


def _below_face_mm(
    starts_mm: NDArray[np.float64], ends_mm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The (n, 2) ends of what of each motion lies below the face; one end of each does."""
    depths_mm = np.stack([starts_mm[:, 2], ends_mm[:, 2]], axis=1) + DEPTH_ROUNDING_MM
    fall_mm = depths_mm[:, 1] - depths_mm[:, 0]
    crossing = np.divide(-depths_mm[:, 0], fall_mm, out=np.zeros(len(fall_mm)), where=fall_mm != 0)
    face_mm = starts_mm[:, :2] + (ends_mm - starts_mm)[:, :2] * crossing[:, np.newaxis]
    starts_above, ends_above = (depths_mm >= 0).T[:, :, np.newaxis]
    return np.where(starts_above, face_mm, starts_mm[:, :2]), np.where(ends_above, face_mm, ends_mm[:, :2])


def _carving_after_freeing(exhibit: Exhibit, circumstances: Circumstances) -> int | None:
    """The first motion of a program that carves after the same program has cut through outside the board."""
    inside = _carves_inside(exhibit, circumstances)
    through = exhibit.trace.ends_mm[:, 2] <= -circumstances.board.thickness_mm + DEPTH_ROUNDING_MM
    outside = np.flatnonzero(through & ~inside)
    if not len(outside):
        return None
    later = np.flatnonzero(inside[outside[0] :])
    return int(outside[0] + later[0]) if len(later) else None


def _freed(cutting: Exhibit, carving: Exhibit, line: int) -> Finding:
    return Finding(
        code="freed-before-carving",
        severity=Severity.ERROR,
        message=(
            f"{carving.program.name}, line {line}: carves the board after {cutting.program.name} has cut "
            f"{cutting.freed_fraction:.0%} of its outline through"
        ),
        remedy="run the cutout last, after every other program",
    )


def cutout_findings(
    ring: Ring, bridges: Sequence[Bridge], thickness_mm: float, cutout: CutoutCut, cell_mm: float
) -> list[Finding]:
    """Return a finding when the board is not cut free, or when too little holds it.

    Args:
        ring: Depths along the bit's way round the outline.
        bridges: What stands along it.
        thickness_mm: Of the board.
        cutout: The order.
        cell_mm: Side of a cell: how well widths are known.
    """
    freed = freed_fraction(ring, thickness_mm)
    if freed < FREED_SHARE:
        return [_not_free(freed)]
    holding = [bridge for bridge in bridges if _holds(bridge, cutout, cell_mm)]
    wanted = cutout.tabs_count or 0
    if len(holding) >= wanted:
        return []
    shown = ", ".join(f"{one.width_mm:.2f} x {one.height_mm:.2f} mm" for one in bridges) or "nothing"
    weak = [bridge for bridge in bridges if not _holds(bridge, cutout, cell_mm)]
    return [
        Finding(
            code="tabs-too-weak",
            severity=Severity.ERROR,
            message=(
                f"{len(holding)} tabs hold the board and {wanted} of {cutout.tab_width_mm:g} x "
                f"{cutout.tab_height_mm:g} mm were ordered; left standing: {shown}"
            ),
            remedy="lift the bit over each tab by its height, for its width and the bit's diameter",
            at_mm=weak[0].at_mm if weak else None,
        )
    ]


def loose_findings(exhibits: Sequence[Exhibit]) -> list[Finding]:
    """Return a finding when a program cuts pieces free that nothing holds, whatever later ones do to them."""
    for exhibit in exhibits:
        loose = exhibit.loose
        if loose is not None:
            others = f", and {loose.count - 1} smaller" if loose.count > 1 else ""
            return [
                Finding(
                    code="loose-part",
                    severity=Severity.ERROR,
                    message=(
                        f"{exhibit.program.name} cuts a piece of {loose.largest_mm2:.1f} mm2 free and "
                        f"nothing holds it{others}"
                    ),
                    remedy="leave tabs, cut the piece away whole, or waive this if tape or vacuum holds it",
                    at_mm=loose.at_mm,
                )
            ]
    return []


def edge_findings(
    edge: Ring, bridges: Sequence[Bridge], thickness_mm: float, cutout: CutoutCut
) -> list[Finding]:
    """Return a finding when wood is left standing along the board's edge, tabs apart.

    Args:
        edge: Depths just outside of the outline.
        bridges: What stands in the middle of the bit's way: the tabs.
        thickness_mm: Of the board.
        cutout: The order. A round bit leaves a tab wider at the edge than in the middle of its way.
    """
    proud = [
        left
        for left in bridges_of(edge, thickness_mm)
        if not any(_belongs_to(bridge, left, cutout) for bridge in bridges)
    ]
    if not proud:
        return []
    widest = max(proud, key=lambda left: left.width_mm)
    length_mm = sum(left.width_mm for left in proud)
    return [
        Finding(
            code="edge-left-standing",
            severity=Severity.ERROR,
            message=(
                f"wood is left standing along {length_mm:.2f} mm of the board's edge, "
                f"{widest.width_mm:.2f} mm of it in one piece"
            ),
            remedy="lead the bit round the outline at the distance of its radius; check the bit's diameter",
            at_mm=widest.at_mm,
        )
    ]


def _belongs_to(bridge: Bridge, left: Bridge, cutout: CutoutCut) -> bool:
    """Whether what is left at the edge is part of a tab: within its width and a round bit's beside it."""
    reach_mm = max(cutout.tab_width_mm, bridge.width_mm / 2) + cutout.cutter.diameter_mm
    return math.dist(left.at_mm, bridge.at_mm) <= reach_mm


def _not_free(freed: float) -> Finding:
    return Finding(
        code="not-cut-free",
        severity=Severity.ERROR,
        message=f"a cutout was ordered, but only {freed:.0%} of the outline is cut through",
        remedy="add the cutout's program, or check the board's thickness in it",
    )


def _holds(bridge: Bridge, cutout: CutoutCut, cell_mm: float) -> bool:
    return (
        bridge.width_mm >= cutout.tab_width_mm - TAB_CELLS * cell_mm
        and bridge.height_mm >= cutout.tab_height_mm - TAB_HEIGHT_MM
    )
