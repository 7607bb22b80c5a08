"""What should be known about a cutout before it is run: its tabs, the bed, what comes loose."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import Point

from workers.errors import NotCuttableError
from workers.toolpaths.cutout import TAB_SLOPE_DEG, Cutout, left_of_board
from workers.toolpaths.leads import Lead
from workers.toolpaths.tabs import GENTLE_DEG, bends_deg
from workers.values.cuts import TABS_SECTION_MM2, CutoutCut, CutoutSide, InciseCut
from workers.values.design import Design
from workers.values.finding import Finding, Severity
from workers.values.material import Material
from workers.values.opening_outline import opening_outline

_SLACK_MM = 0.01  # chords and rounding
_LOWEST_TAB_MM = 1.5  # in wood; 1.5 to 3 mm are usual, more in foam (trade.md P-03, memory)
_LOWEST_FOAM_TAB_MM = 3.0
_MOST_STANDING = 0.5  # of an outline: a board of which more stands is not cut free (a choice)
_END_MM = 0.15  # of wood that a round bit and rounding may leave at each end of a tab
_DEEPEST_PAST_MM = 0.5  # into the sacrificial board: 0.1 to 0.5 mm (trade.md P-07, memory)


def cutout_findings(
    cutout: Cutout, cut: CutoutCut, lead: Lead | None, design: Design, material: Material
) -> tuple[Finding, ...]:
    """Return the warnings about a cutout.

    Args:
        cutout: How it was planned.
        cut: What was asked for.
        lead: How the bit is led on to the line, if there is room.
        design: The sign.
        material: The board's.
    """
    wanted = cut.tabs_on(design.outline.exterior.length)
    findings = [*_tab_findings(cutout, cut, wanted, material), *_slivers(cut, design, material)]
    if lead is None:
        no_waste = "the board is on one side of the line, and on the other what keeps its size"
        no_room = "between tabs and clamps there is no room beside the line"
        findings.append(
            no_lead_finding("the cutout", no_waste if cut.side is CutoutSide.INSIDE else no_room, None)
        )
    if cut.past_mm > _DEEPEST_PAST_MM:
        findings.append(
            Finding(
                code="deep-into-bed",
                severity=Severity.WARNING,
                message=(
                    f"the cutout goes {cut.past_mm:.2f} mm past the board; "
                    f"0.1 to {_DEEPEST_PAST_MM:g} mm are usual"
                ),
                remedy="lower 'cutout/past', or lay a spoilboard thicker than that under the board",
            )
        )
    return tuple(findings)


def refuse_missing_tabs(
    cutout: Cutout, cut: CutoutCut, what: str = "the board", at_mm: tuple[float, float] | None = None
) -> None:
    """Raise if fewer tabs fit than are asked for by their number.

    Args:
        cutout: The way round, with its tabs.
        cut: How many, and their sizes.
        what: The board, or the piece inside an opening.
        at_mm: Where that piece is.

    Raises:
        NotCuttableError: With how many of these tabs would fit.
    """
    placed, wanted = len(cutout.rough.tabs.centres_mm), cut.tabs_count or 0
    if placed >= wanted:
        return
    fit = min(placed, _fitting(cutout, cut))
    raise _too_many_tabs(
        f"{wanted} tabs are asked for, and {fit} such tabs fit round {what}, with room between them "
        "for the bit to go down",
        fit,
        cut,
        at_mm,
    )


def refuse_tabs_in_ground(design: Design, incise: InciseCut, cut: CutoutCut) -> None:
    """Raise if ground that runs out over the board's edge takes away what tabs are made of.

    Raises:
        NotCuttableError: With how high tabs may be.
    """
    left_mm = design.board.thickness_mm - incise.depth_limit_mm
    if not design.past_edge_mm or cut.tabs_count == 0 or cut.tab_height_mm <= left_mm + _SLACK_MM:
        return
    message = (
        f"tabs {cut.tab_height_mm:.2f} mm high are asked for, and beside the board, where the ground is cut "
        f"{incise.depth_limit_mm:.2f} mm deep, {left_mm:.2f} mm are left"
    )
    remedy = (
        f"make tabs {left_mm:.2f} mm high or lower, cut the ground less deep, or leave it a frame ('margin')"
    )
    finding = Finding(code="tabs-in-ground", severity=Severity.ERROR, message=message, remedy=remedy)
    raise NotCuttableError.for_findings(finding, field="/inputs/cutout/tabs/height")


def refuse_hardly_cut(
    cutout: Cutout, cut: CutoutCut, what: str = "the board", at_mm: tuple[float, float] | None = None
) -> None:
    """Raise if tabs leave so much of an outline standing that it is not cut free.

    Args:
        cutout: The way round, with its tabs.
        cut: The tabs' sizes.
        what: The board, or the piece inside an opening.
        at_mm: Where that piece is.

    Raises:
        NotCuttableError: With how many of these tabs would fit.
    """
    lap = cutout.wall or cutout.rough
    placed, round_mm = len(lap.tabs.centres_mm), lap.circuit.length_mm
    fit = _fitting(cutout, cut)
    if placed <= fit:
        return
    flanks = " and the slopes beside them" if cut.tabs_sloped else ""
    raise _too_many_tabs(
        f"{placed} tabs{flanks} would leave {placed * _standing_mm(cut):.0f} of {round_mm:.0f} mm round "
        f"{what} standing; at least half must be cut through, and {fit} such tabs fit",
        fit,
        cut,
        at_mm,
    )


def _standing_mm(cut: CutoutCut) -> float:
    """Return how much of the bit's way one tab leaves standing, with the slopes beside it."""
    foot_mm = cut.tab_height_mm / math.tan(math.radians(TAB_SLOPE_DEG)) if cut.tabs_sloped else 0.0
    return cut.tab_width_mm + 2 * (foot_mm + _END_MM)


def _fitting(cutout: Cutout, cut: CutoutCut) -> int:
    """Return how many tabs leave enough of the bit's way cut through."""
    lap = cutout.wall or cutout.rough
    return int(_MOST_STANDING * lap.circuit.length_mm / _standing_mm(cut))


def _too_many_tabs(
    message: str, fit: int, cut: CutoutCut, at_mm: tuple[float, float] | None
) -> NotCuttableError:
    narrower = f"make them narrower{', lower or square' if cut.tabs_sloped else ''}"
    if at_mm is not None:
        remedy = f"{narrower}, or the opening larger, or so small that it is cut away whole"
    elif fit:
        remedy = f"ask for {fit} tabs or fewer ('count'), or {narrower}"
    else:
        remedy = f"hold it down by other means ('count: 0'), or {narrower}"
    finding = Finding(
        code="too-many-tabs",
        severity=Severity.ERROR,
        message=message,
        remedy=remedy,
        at_mm=at_mm,
    )
    return NotCuttableError.for_findings(finding, field="/inputs/cutout/tabs/count")


def no_lead_finding(what: str, why: str, at_mm: tuple[float, float] | None) -> Finding:
    """Return a note on a line that the bit goes down along itself, where it may leave a mark."""
    return Finding(
        code="no-lead-in",
        severity=Severity.NOTE,
        message=f"{what} begins on its line, where the bit may leave a mark: {why}",
        remedy="fewer or narrower tabs, clamps farther away or a thinner bit make room",
        at_mm=at_mm,
    )


def _slivers(cut: CutoutCut, design: Design, material: Material) -> Iterator[Finding]:
    """Yield a word where so little board is left between the cutout and another cut that it breaks off."""
    edge = left_of_board(design.outline, cut).exterior
    holes = [Point(hole.x_mm, hole.y_mm).buffer(hole.diameter_mm / 2) for hole in design.holes]
    openings = [opening_outline(opening) for opening in design.openings]
    carved = [] if design.past_edge_mm else list(design.ink.polygons.geoms)
    for what in [*carved, *holes, *openings]:
        left_mm = what.distance(edge)
        if left_mm < material.thinnest_wall_mm - _SLACK_MM:
            at = shapely.get_coordinates(shapely.shortest_line(what, edge))[0].tolist()
            yield Finding(
                code="sliver-at-edge",
                severity=Severity.WARNING,
                message=(
                    f"only {left_mm:.2f} mm of board are left between the cutout and what is cut at "
                    f"x {at[0]:.1f}, y {at[1]:.1f} mm: {material.title.lower()} of less than "
                    f"{material.thinnest_wall_mm:g} mm may break off"
                ),
                remedy="cut outside the line, or keep farther from the edge",
                at_mm=(at[0], at[1]),
            )


def _tab_findings(cutout: Cutout, cut: CutoutCut, wanted: int, material: Material) -> Iterator[Finding]:
    placed = len(cutout.rough.tabs.centres_mm)
    if placed < wanted:
        yield Finding(
            code="fewer-tabs",
            severity=Severity.WARNING,
            message=f"only {placed} of {wanted} tabs fit on the outline",
            remedy="make the tabs narrower, or hold the board down by other means",
        )
    elif not placed:
        yield Finding(
            code="no-tabs",
            severity=Severity.WARNING,
            message="nothing keeps the board in its blank once it is cut free",
            remedy="ask for three or more tabs, or hold the board down from below",
        )
        return
    yield from _weak_tabs(cut, placed, material)
    yield from _bent_tabs(cutout)


def _weak_tabs(cut: CutoutCut, placed: int, material: Material) -> Iterator[Finding]:
    """Yield a word on tabs too low, or too small in all, to hold the board against the bit."""
    section_mm2 = placed * cut.tab_width_mm * cut.tab_height_mm
    lowest_mm = _LOWEST_FOAM_TAB_MM if material.family == "foam" else _LOWEST_TAB_MM
    if cut.tab_height_mm < lowest_mm - 1e-9:
        yield Finding(
            code="weak-tabs",
            severity=Severity.WARNING,
            message=(
                f"tabs {cut.tab_height_mm:.2f} mm high may break before the cut is done; "
                f"{lowest_mm:g} mm or more are usual in {material.title.lower()}"
            ),
            remedy=f"make 'cutout/tabs/height' {lowest_mm:g} mm or more, or hold the board down as well",
        )
    elif section_mm2 < TABS_SECTION_MM2 - 1e-9:
        yield Finding(
            code="weak-tabs",
            severity=Severity.WARNING,
            message=(
                f"{placed} tabs of {cut.tab_width_mm:g} x {cut.tab_height_mm:g} mm are {section_mm2:.0f} mm2 "
                f"in all; {TABS_SECTION_MM2:g} mm2 or more are usual to hold a board against the bit"
            ),
            remedy="ask for more tabs, or wider or higher ones; left out, 'count' is chosen to hold",
        )


def _bent_tabs(cutout: Cutout) -> Iterator[Finding]:
    """Yield a word on tabs that stand round a corner: they are hard to saw off clean."""
    lap = cutout.rough
    if not lap.tabs.centres_mm:
        return
    spans_mm = np.array(lap.tabs.spans_mm())
    bends = bends_deg(lap.circuit, spans_mm[:, 0], spans_mm[:, 1])
    for number in np.flatnonzero(bends > GENTLE_DEG).tolist():
        x_mm, y_mm = lap.circuit.at(np.array([lap.tabs.centres_mm[number]]))[0].tolist()
        yield Finding(
            code="tab-in-corner",
            severity=Severity.WARNING,
            message=(
                f"a tab at x {x_mm:.1f}, y {y_mm:.1f} mm stands round a bend of {bends[number]:.0f} degrees"
            ),
            remedy="make the tabs narrower or fewer, so that they fit on straight runs",
            at_mm=(x_mm, y_mm),
        )
