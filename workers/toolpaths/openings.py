"""Openings right through the board: small ones cut away whole, large ones round a piece held by tabs."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely.geometry import MultiPolygon, Polygon

from workers.errors import NotCuttableError
from workers.geometry.offsets import inset
from workers.toolpaths.clearance import Clearance
from workers.toolpaths.clearing import clearing_paths
from workers.toolpaths.cutout import Cutout, cutout_of, refuse_short_bit
from workers.toolpaths.cutout_findings import no_lead_finding, refuse_hardly_cut, refuse_missing_tabs
from workers.toolpaths.cutout_leads import lead_within
from workers.toolpaths.cutout_passes import cutout_paths
from workers.toolpaths.leads import Lead
from workers.toolpaths.shop import Shop
from workers.values.cuts import CutoutCut
from workers.values.cutter import EndMill
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.design import Design, Opening
from workers.values.finding import Finding, Severity
from workers.values.opening_outline import leaves_core, opening_outline
from workers.values.region import Region

_UNREACHED_MM2 = 0.02  # less than this is the chords of round corners


def opening_paths(design: Design, cut: CutoutCut | None, shop: Shop) -> tuple[list[CutPath], list[Finding]]:
    """Return the paths of all openings, one after the other, and what should be known about them.

    Args:
        design: The sign.
        cut: How the board itself is cut free: the same bit, depth, direction and tabs.
        shop: Material and machine.

    Raises:
        NotCuttableError: There is no end mill, or it does not fit into an opening or is too short.
    """
    if not design.openings:
        return [], []
    if cut is None or not isinstance(cut.cutter, EndMill):
        raise _refusal(
            "openings-without-bit",
            f"the board has {len(design.openings)} openings and no end mill to cut them",
            "give 'cutout' or 'clear' a flat bit, or leave the openings out",
            design.openings[0],
        )
    mill, thickness_mm = cut.cutter, design.board.thickness_mm
    refuse_short_bit(mill, thickness_mm + cut.past_mm, thickness_mm, cut.past_mm, "/inputs/cutout/bit")
    paths: list[CutPath] = []
    findings: list[Finding] = []
    for number, opening in enumerate(design.openings, 1):
        outline = opening_outline(opening)
        _refuse_unfit(opening, outline, number, mill)
        if leaves_core(outline, mill.diameter_mm):
            made = _round(design, outline, cut)
            round_it, piece = cut.round_an_opening(), f"the piece in opening {number}"
            refuse_missing_tabs(made, round_it, piece, (opening.x_mm, opening.y_mm))
            refuse_hardly_cut(made, round_it, piece, (opening.x_mm, opening.y_mm))
            lead = lead_within(made, outline, round_it)
            paths += _round_paths(made, cut, lead, shop)
            findings += _lead_findings(lead, opening, number)
        else:
            paths += _whole_paths(outline, cut, mill, thickness_mm, shop)
    return paths, findings


def opening_tab_places_mm(design: Design, cut: CutoutCut) -> tuple[tuple[float, float], ...]:
    """Return where the bit's middle is over the middle of each tab that holds a piece in an opening.

    Args:
        design: The sign.
        cut: How openings are cut.
    """
    outlines = [opening_outline(opening) for opening in design.openings]
    return tuple(
        place_mm
        for outline in outlines
        if leaves_core(outline, cut.cutter.diameter_mm)
        for place_mm in _round(design, outline, cut).tab_places_mm()
    )


def _whole_paths(
    outline: Polygon, cut: CutoutCut, mill: EndMill, thickness_mm: float, shop: Shop
) -> list[CutPath]:
    """Return the paths that cut all of an opening away, from its middle to its wall."""
    room = inset(Region(MultiPolygon([outline])), mill.diameter_mm / 2)
    data = shop.data(mill, OperationKind.OPENING)
    depth_mm = thickness_mm + cut.past_mm
    return clearing_paths(
        Clearance(mill=mill, centres=room, room=room),
        depth_mm,
        cut.pass_depth_mm or data.pass_depth_mm,
        data.stepover_fraction * mill.diameter_mm,
        shop.pace(mill, OperationKind.OPENING),
        cut.climb,
        upright=True,
    )


def _round(design: Design, outline: Polygon, cut: CutoutCut) -> Cutout:
    """Return the way round a piece that stays in its opening until it is sawn out."""
    within = Design(board=design.board, outline=outline, ink=Region(MultiPolygon()))
    return cutout_of(within, cut.round_an_opening())


def _round_paths(made: Cutout, cut: CutoutCut, lead: Lead | None, shop: Shop) -> list[CutPath]:
    data = shop.data(cut.cutter, OperationKind.OPENING)
    pace = shop.pace(cut.cutter, OperationKind.OPENING)
    return cutout_paths(made, cut.pass_depth_mm or data.pass_depth_mm, pace, lead)


def _lead_findings(lead: Lead | None, opening: Opening, number: int) -> Iterator[Finding]:
    if lead is None:
        at_mm = (opening.x_mm, opening.y_mm)
        yield no_lead_finding(f"opening {number}", "between its tabs there is no room beside the line", at_mm)


def _refuse_unfit(opening: Opening, outline: Polygon, number: int, mill: EndMill) -> None:
    """Raise if the bit leaves more of an opening standing than its own roundness."""
    radius_mm = mill.diameter_mm / 2
    reached = outline.buffer(-radius_mm, quad_segs=64).buffer(radius_mm, quad_segs=64)
    left = outline.difference(reached)
    worst_mm2 = max((part.area for part in shapely.get_parts(left).tolist()), default=0.0)
    if worst_mm2 > _UNREACHED_MM2 or reached.is_empty:
        raise _refusal(
            "bit-does-not-fit-opening",
            f"{mill.name}, {mill.diameter_mm:.3f} mm, does not reach all of opening {number}: "
            f"it would leave {left.area:.2f} mm2 standing",
            f"use a thinner bit, or make necks wider than {mill.diameter_mm:.2f} mm and corners rounder "
            f"than {radius_mm:.2f} mm",
            opening,
        )


def _refusal(code: str, message: str, remedy: str, opening: Opening) -> NotCuttableError:
    at_mm = (opening.x_mm, opening.y_mm)
    finding = Finding(code=code, severity=Severity.ERROR, message=message, remedy=remedy, at_mm=at_mm)
    return NotCuttableError.for_findings(finding, field="/inputs/cutout/bit")
