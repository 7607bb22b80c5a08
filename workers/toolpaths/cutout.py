"""The board cut free: where the bit runs round its outline, and what it leaves standing."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Point, Polygon

from workers.errors import NotCuttableError, ParameterOutOfRangeError
from workers.geometry.offsets import inset, outset
from workers.toolpaths.circuit import Circuit, ramp_length_mm
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.tabs import Tabs, placed_tabs, tabs_on_both
from workers.values.cuts import CutoutCut, CutoutSide
from workers.values.cutter import Cutter, EndMill
from workers.values.design import Design
from workers.values.finding import Finding, Severity
from workers.values.ground import standing_on
from workers.values.opening_outline import opening_outline
from workers.values.region import Region

TAB_RAMP_DEG = (
    10.0  # down again behind a tab: up to 10 to 15 degrees in soft material (trade.md C-12, memory)
)
TAB_SLOPE_DEG = 15.0  # of a sloped tab's flanks, the same source
_TOUCHING_MM = 0.01


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Lap:
    """One way round the board, and the tabs on it."""

    circuit: Circuit  # climbing: the board on its right (trade.md P-08)
    tabs: Tabs


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Cutout:
    """All that is known before speeds are: ways round, heights and tabs."""

    rough: Lap  # in depth passes
    wall: Lap | None  # once at full depth along the finished wall; None: the rough one is it
    tab_top_mm: float  # height below which the bit is lifted
    tabs_sloped: bool
    depth_mm: float
    last_layer_mm: float

    def tab_places_mm(self) -> tuple[tuple[float, float], ...]:
        """Return where the bit's middle is over the middle of each tab, along the finished wall."""
        lap = self.wall or self.rough
        places = lap.circuit.at(np.array(lap.tabs.centres_mm)).round(3).tolist()
        return tuple((x_mm, y_mm) for x_mm, y_mm in places)

    @property
    def flank_mm(self) -> float:
        """How long the slope beside a tab is on the way; 0 where the bit rises straight up."""
        if not self.tabs_sloped:
            return 0.0
        return (self.tab_top_mm + self.depth_mm) / math.tan(math.radians(TAB_SLOPE_DEG))

    def gaps_mm(self) -> list[tuple[float, float]]:
        """Return the stretches of the rough way without a tab, as places."""
        round_mm = self.rough.circuit.length_mm
        spans_mm = sorted(self.rough.tabs.spans_mm())
        if not spans_mm:
            return [(0.0, round_mm)]
        nexts_mm = [first for first, _ in spans_mm[1:]] + [spans_mm[0][0] + round_mm]
        return [
            (last + self.flank_mm, following - self.flank_mm)
            for (_, last), following in zip(spans_mm, nexts_mm, strict=True)
        ]

    def pass_depths_mm(self, pass_depth_mm: float) -> list[float]:
        """Return how deep each pass goes, the thin last one among them.

        The last layer is counted from the board's underside: what lies past it goes with it.
        """
        if not self.last_layer_mm:
            return pass_depths_mm(self.depth_mm, pass_depth_mm)
        above_mm = self.depth_mm - self.last_layer_mm
        last_mm = pass_depths_mm(self.last_layer_mm, pass_depth_mm)
        return [*pass_depths_mm(above_mm, pass_depth_mm), *(above_mm + layer_mm for layer_mm in last_mm)]


def cutout_of(design: Design, cut: CutoutCut) -> Cutout:
    """Return how a board is cut free.

    Args:
        design: The sign: its outline, thickness, and what must stay on the board.
        cut: The bit, its side of the line, how far past the board, and the tabs asked for.

    Raises:
        ParameterOutOfRangeError: The bit is no end mill, or the tabs are as high as the board.
        NotCuttableError: The bit's cutting edge is shorter than the cut is deep, or the cut would
            run through the carving.
    """
    mill = cut.cutter
    if not isinstance(mill, EndMill):
        raise ParameterOutOfRangeError(
            f"the board is cut free with an end mill, and {mill.name} is none",
            field="/inputs/cutout/bit",
            remedy="name a bit of kind 'flat'",
        )
    thickness_mm = design.board.thickness_mm
    refuse_short_bit(mill, thickness_mm + cut.past_mm, thickness_mm, cut.past_mm, "/inputs/cutout/bit")
    if cut.tabs_count != 0 and not 0 < cut.tab_height_mm < thickness_mm:
        raise ParameterOutOfRangeError(
            f"tabs {cut.tab_height_mm:.2f} mm high in a board {thickness_mm:.2f} mm thick",
            field="/inputs/cutout/tabs/height",
            remedy="make the tabs lower than the board is thick",
        )
    if cut.last_layer_mm >= thickness_mm:
        raise ParameterOutOfRangeError(
            f"a last layer of {cut.last_layer_mm:.2f} mm in a board {thickness_mm:.2f} mm thick",
            field="/inputs/cutout/last_layer",
            remedy="0.2 to 0.5 mm are usual; 0 cuts in equal passes",
        )
    _refuse_lost_carving(design, cut)
    rough, wall = _laps(design.outline, cut)
    return Cutout(
        rough=rough,
        wall=wall,
        tab_top_mm=cut.tab_height_mm - thickness_mm,
        tabs_sloped=cut.tabs_sloped,
        depth_mm=thickness_mm + cut.past_mm,
        last_layer_mm=cut.last_layer_mm + cut.past_mm if cut.last_layer_mm else 0.0,
    )


def _laps(outline: Polygon, cut: CutoutCut) -> tuple[Lap, Lap | None]:
    """Return the rough way round and, with an allowance, the one along the wall."""
    wall_mm = cut.wall_offset_mm
    inwards = -1 if cut.side is CutoutSide.INSIDE else 1
    circuit = _circuit(outline, wall_mm + inwards * cut.wall_allowance_mm, cut)
    flank_mm = ramp_length_mm(
        cut.tab_height_mm + cut.past_mm, TAB_SLOPE_DEG if cut.tabs_sloped else TAB_RAMP_DEG
    )
    diameter_mm = cut.cutter.diameter_mm
    wanted = cut.tabs_on(outline.exterior.length)
    tabs = placed_tabs(
        circuit, wanted, cut.tab_width_mm + diameter_mm, (1 + cut.tabs_sloped) * flank_mm + diameter_mm
    )
    if not cut.wall_allowance_mm:
        return Lap(circuit=circuit, tabs=tabs), None
    wall = _circuit(outline, wall_mm, cut)
    rough_tabs, wall_tabs = tabs_on_both(tabs, circuit, wall)
    return Lap(circuit=circuit, tabs=rough_tabs), Lap(circuit=wall, tabs=wall_tabs)


def _circuit(outline: Polygon, outwards_mm: float, cut: CutoutCut) -> Circuit:
    """Return the outline moved, run so that the bit climbs, or against it."""
    line = Region(MultiPolygon([Polygon(outline.exterior)]))
    if outwards_mm:
        line = outset(line, outwards_mm) if outwards_mm > 0 else inset(line, -outwards_mm)
    if len(line.polygons.geoms) != 1:
        raise ParameterOutOfRangeError(
            f"a bit of {cut.cutter.diameter_mm:.2f} mm cannot go round inside this outline in one piece",
            field="/inputs/cutout/side",
            remedy="take a thinner bit, or run it outside the line",
        )
    clockwise = cut.climb == (cut.side is not CutoutSide.INSIDE)
    anticlockwise_mm = shapely.get_coordinates(line.polygons.geoms[0].exterior)
    return Circuit(anticlockwise_mm[::-1] if clockwise else anticlockwise_mm)


def left_of_board(outline: Polygon, cut: CutoutCut) -> Polygon:
    """Return what is left of a board: all of it, or less where the bit runs on or inside its outline."""
    if cut.eaten_mm <= _TOUCHING_MM:
        return outline
    parts = shapely.get_parts(outline.buffer(-cut.eaten_mm)).tolist()
    return max(parts, key=lambda part: float(part.area), default=Polygon())


def _refuse_lost_carving(design: Design, cut: CutoutCut) -> None:
    """Raise if a cut on or inside the line would run through what is carved, holes and openings."""
    if cut.eaten_mm <= _TOUCHING_MM:
        return
    holes = [Point(hole.x_mm, hole.y_mm).buffer(hole.diameter_mm / 2) for hole in design.holes]
    openings = [opening_outline(opening) for opening in design.openings]
    carved = standing_on(design) if design.past_edge_mm else design.ink.polygons
    wanted = shapely.union_all([carved, *holes, *openings])
    lost = wanted.difference(left_of_board(design.outline, cut).buffer(_TOUCHING_MM))
    if lost.is_empty:
        return
    at = lost.representative_point()
    finding = Finding(
        code="carving-cut-away",
        severity=Severity.ERROR,
        message=(
            f"the cutout runs {cut.side} the line and takes {cut.eaten_mm:.2f} mm of the board all round: "
            f"{lost.area:.1f} mm2 of what is carved or cut through lie there"
        ),
        remedy="cut outside the line, or keep the carving farther from the edge",
        at_mm=(at.x, at.y),
    )
    raise NotCuttableError.for_findings(finding, field="/inputs/cutout/side")


def refuse_short_bit(
    cutter: Cutter, depth_mm: float, thickness_mm: float, past_mm: float, field: str
) -> None:
    """Raise if a bit's cutting edge is shorter than a cut right through the board is deep.

    Raises:
        NotCuttableError: Both figures are in the message.
    """
    if cutter.cutting_length_mm >= depth_mm - 1e-9:
        return
    message = (
        f"{cutter.name} cuts {cutter.cutting_length_mm:.2f} mm deep, but right through the board is "
        f"{depth_mm:.2f} mm: {thickness_mm:.2f} mm thick and {past_mm:.2f} mm past it"
    )
    remedy = f"use a bit with at least {depth_mm:.1f} mm of cutting length, or a thinner board"
    finding = Finding(code="bit-too-short", severity=Severity.ERROR, message=message, remedy=remedy)
    raise NotCuttableError.for_findings(finding, field=field)
