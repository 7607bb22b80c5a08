"""Slots in the back to hang the board by: down at the entry, along under the lip, back, up at the entry."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.errors import NotCuttableError
from workers.geometry.vee import flank_slope
from workers.toolpaths.pace import cut_path
from workers.toolpaths.shop import Shop
from workers.values.cuts import CutoutCut, InciseCut
from workers.values.cutter import KeyholeCutter
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.design import Board, Design, Hanger
from workers.values.finding import Finding, Severity
from workers.values.ground import ground_beyond
from workers.values.hanger_shape import LEAST_FRONT_MM, LEAST_HOLDING_MM, as_they_lie, head_outline

_PROBE_MM = 0.2  # between the places at which the carving before a slot is measured


def refuse_misfit_hangers(design: Design, incise: InciseCut, cutout: CutoutCut | None) -> None:
    """Raise if a hanger leaves too little wood to the carving before it, or to what is left of the board.

    Raises:
        NotCuttableError: Each such hanger is told, with its place in the front's frame.
    """
    findings = [
        *_too_deep(design, incise),
        *(_too_near_cut(design, cutout) if cutout and cutout.eaten_mm > 0 else ()),
    ]
    if findings:
        raise NotCuttableError.for_findings(*findings)


def hanger_paths(design: Design, shop: Shop) -> list[tuple[KeyholeCutter, list[CutPath]]]:
    """Return the paths of all hangers as the board lies, back up, for each bit from left to right.

    Args:
        design: Its hangers, in the front's frame; the paths have x from the edge that is on the left then.
        shop: Material and machine.
    """
    lying = as_they_lie(design.hangers, design.board)
    cutters = dict.fromkeys(hanger.cutter for hanger in design.hangers)
    return [
        (cutter, [_slot(hanger, shop) for hanger in lying if hanger.cutter == cutter]) for cutter in cutters
    ]


def seen_through(paths: Sequence[CutPath], board: Board) -> list[NDArray[np.float64]]:
    """Return the points of paths of the back in the front's frame."""
    return [path.points_mm * (-1.0, 1.0, 1.0) + (board.width_mm, 0.0, 0.0) for path in paths]


def carved_before_mm(design: Design, incise: InciseCut, hanger: Hanger) -> float:
    """Return how deep the face is carved before a slot, at most.

    Nowhere is a V-bit deeper than the distance to the ink's edge over its flank's slope; that is measured
    at places over the slot, and grows from there by no more than the way to the next of them.

    Args:
        design: Its ink.
        incise: Bit and depth limit.
        hanger: The slot, in the front's frame.

    Source: d / tan(angle / 2), trigonometry of the cone.
    """
    slope = flank_slope(incise.cutter)
    reach_mm = slope * incise.depth_limit_mm + _PROBE_MM
    before = head_outline(hanger)
    near = ground_beyond(design, reach_mm).polygons.intersection(before.buffer(reach_mm + _PROBE_MM))
    if not near.intersects(before):
        return 0.0
    left, bottom, right, top = before.bounds
    columns = np.arange(left, right + _PROBE_MM, _PROBE_MM)
    rows = np.arange(bottom, top + _PROBE_MM, _PROBE_MM)
    places = np.asarray(shapely.points(np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)))
    shapely.prepare(near)
    within = places[shapely.contains(near, places)]
    wide_mm = shapely.distance(near.boundary, within).max(initial=0.0) + _PROBE_MM / 2**0.5
    return float(min(incise.depth_limit_mm, wide_mm / slope))


def _slot(hanger: Hanger, shop: Shop) -> CutPath:
    entry_mm = (hanger.x_mm, hanger.y_mm, -hanger.depth_mm)
    end_mm = (hanger.x_mm, hanger.y_mm + hanger.length_mm, -hanger.depth_mm)
    pace = shop.pace(hanger.cutter, OperationKind.BACK)
    return cut_path(np.array([entry_mm, end_mm, entry_mm]), pace)


def _too_deep(design: Design, incise: InciseCut) -> list[Finding]:
    found = []
    for number, hanger in enumerate(design.hangers, 1):
        carved_mm = carved_before_mm(design, incise, hanger)
        left_mm = design.board.thickness_mm - hanger.depth_mm - carved_mm
        if left_mm < LEAST_FRONT_MM - 1e-6:
            most_mm = hanger.depth_mm + left_mm - LEAST_FRONT_MM
            message = (
                f"hanger {number} is {hanger.depth_mm:.2f} mm deep behind carving of {carved_mm:.2f} mm: "
                f"{left_mm:.2f} mm of wood would be left between them, and {LEAST_FRONT_MM:g} mm must stay"
            )
            remedy = (
                f"lower 'hangers/{number - 1}/depth' to {most_mm:.1f} mm with a bit that allows it, move the "
                "hanger to where nothing is carved, or lower 'incise/depth_limit'"
            )
            found.append(_finding("hanger-too-deep", message, remedy, hanger))
    return found


def _too_near_cut(design: Design, cutout: CutoutCut) -> list[Finding]:
    """The bit that cuts the board free takes some of it: what is left must hold the hangers."""
    left = design.outline.buffer(-cutout.eaten_mm)
    found = []
    for number, hanger in enumerate(design.hangers, 1):
        outline = head_outline(hanger)
        stays_mm = outline.distance(left.exterior) if left.contains(outline) else 0.0
        if stays_mm < LEAST_HOLDING_MM - 1e-6:
            message = (
                f"hanger {number} leaves {stays_mm:.1f} mm to the edge that the cutout makes, "
                f"{cutout.eaten_mm:.2f} mm inside the outline; {LEAST_HOLDING_MM:g} mm must stay"
            )
            remedy = f"move 'hangers/{number - 1}' inwards, or cut the board out on the 'outside'"
            found.append(_finding("hanger-near-edge", message, remedy, hanger))
    return found


def _finding(code: str, message: str, remedy: str, hanger: Hanger) -> Finding:
    at_mm = (hanger.x_mm, hanger.y_mm)
    return Finding(code=code, severity=Severity.ERROR, message=message, remedy=remedy, at_mm=at_mm)
