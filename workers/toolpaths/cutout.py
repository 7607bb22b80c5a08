"""The board cut free: round its outline in depth passes, over tabs, never straight down."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from workers.errors import NotCuttableError, ParameterOutOfRangeError
from workers.geometry.offsets import outset
from workers.toolpaths.circuit import Circuit, ramp_length_mm
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.pace import Pace, cut_path
from workers.toolpaths.tabs import Tabs, placed_tabs
from workers.values.cuts import CutoutCut
from workers.values.cutter import Cutter, EndMill
from workers.values.cutting_plan import CutPath
from workers.values.finding import Finding, Severity
from workers.values.region import Region

Floats = NDArray[np.float64]

_TAB_RAMP_DEG = 10.0  # down again behind a tab: up to 10 to 15 degrees in soft material (memory)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Cutout:
    """A bit's way round the board, and the tabs on it."""

    circuit: Circuit  # clockwise: climb, the board on the right (trade.md P-08)
    tabs: Tabs
    tab_top_mm: float  # height below which the bit is lifted
    depth_mm: float


def cutout_of(outline: Polygon, thickness_mm: float, cut: CutoutCut) -> Cutout:
    """Return how a board is cut free.

    Args:
        outline: The board's edge.
        thickness_mm: The board's.
        cut: The bit, how far past the board, and the tabs asked for.

    Raises:
        ParameterOutOfRangeError: The bit is no end mill, or the tabs are as high as the board.
        NotCuttableError: The bit's cutting edge is shorter than the cut is deep.
    """
    mill = cut.cutter
    if not isinstance(mill, EndMill):
        raise ParameterOutOfRangeError(
            f"the board is cut free with an end mill, and {mill.name} is none",
            field="/inputs/cutout/bit",
            remedy="name a bit of kind 'flat'",
        )
    depth_mm = thickness_mm + cut.past_mm
    refuse_short_bit(mill, depth_mm, thickness_mm, cut.past_mm)
    if cut.tabs_count and not 0 < cut.tab_height_mm < thickness_mm:
        raise ParameterOutOfRangeError(
            f"tabs {cut.tab_height_mm:.2f} mm high in a board {thickness_mm:.2f} mm thick",
            field="/inputs/cutout/tabs/height",
            remedy="make the tabs lower than the board is thick",
        )
    around = outset(Region(MultiPolygon([Polygon(outline.exterior)])), mill.diameter_mm / 2)
    circuit = Circuit(shapely.get_coordinates(around.polygons.geoms[0].exterior)[::-1])
    behind_mm = ramp_length_mm(cut.tab_height_mm + cut.past_mm, _TAB_RAMP_DEG)
    tabs = placed_tabs(
        circuit, cut.tabs_count, cut.tab_width_mm + mill.diameter_mm, behind_mm + mill.diameter_mm
    )
    return Cutout(circuit=circuit, tabs=tabs, tab_top_mm=cut.tab_height_mm - thickness_mm, depth_mm=depth_mm)


def refuse_short_bit(cutter: Cutter, depth_mm: float, thickness_mm: float, past_mm: float) -> None:
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
    raise NotCuttableError(message, findings=(finding,), remedy=remedy)


def cutout_path(cutout: Cutout, pass_depth_mm: float, pace: Pace) -> CutPath:
    """Return the one path that goes down round the board, pass after pass.

    Each pass goes down along the outline and then once round it at its depth. At a tab the bit
    rises, crosses, comes down along the outline behind the tab, returns at depth to the tab's
    edge and goes on: so the bridge is as wide as asked, and nothing is plunged into.
    """
    places_mm, upper_mm = 0.0, 0.0
    lines: list[Floats] = []
    for pass_mm in pass_depths_mm(cutout.depth_mm, pass_depth_mm):
        stop_mm = places_mm + ramp_length_mm(upper_mm + pass_mm) + cutout.circuit.length_mm
        lines += _round(cutout, _Descent(places_mm, upper_mm, -pass_mm), stop_mm)
        places_mm, upper_mm = stop_mm, -pass_mm
    return cut_path(np.vstack(lines), pace)


@dataclass(frozen=True, slots=True)
class _Descent:
    """Heights along the circuit in one pass: down at the ramp's angle, then level."""

    start_mm: float
    upper_mm: float
    lower_mm: float

    @property
    def end_mm(self) -> float:
        return self.start_mm + ramp_length_mm(self.upper_mm - self.lower_mm)

    def at(self, places_mm: Floats | float) -> Floats:
        return np.asarray(np.interp(places_mm, [self.start_mm, self.end_mm], [self.upper_mm, self.lower_mm]))

    def place_of(self, height_mm: float) -> float:
        share = (self.upper_mm - height_mm) / (self.upper_mm - self.lower_mm)
        return self.start_mm + share * (self.end_mm - self.start_mm)


def _round(cutout: Cutout, descent: _Descent, stop_mm: float) -> Iterator[Floats]:
    """Yield the stretches of one pass, (n, 3) each."""
    here_mm = descent.start_mm
    for first_mm, last_mm in _spans_between(cutout, descent.start_mm, stop_mm):
        if float(descent.at(last_mm)) >= cutout.tab_top_mm:
            continue  # still above the tab
        yield _stretch(cutout.circuit, descent, here_mm, first_mm)
        yield _stretch(cutout.circuit, descent, first_mm, last_mm, cutout.tab_top_mm)
        if last_mm < stop_mm:
            yield from _behind_tab(cutout, descent, last_mm)
        here_mm = last_mm
    if here_mm < stop_mm:
        yield _stretch(cutout.circuit, descent, here_mm, stop_mm)


def _spans_between(cutout: Cutout, start_mm: float, stop_mm: float) -> list[tuple[float, float]]:
    """Return the lifted stretches from a place to a later one, also those that either lies in."""
    round_mm = cutout.circuit.length_mm
    rounds = range(math.floor(start_mm / round_mm) - 1, math.floor(stop_mm / round_mm) + 2)
    spans_mm = [(first + turn * round_mm, last + turn * round_mm) for turn in rounds
                for first, last in cutout.tabs.spans_mm()]  # fmt: skip
    clipped_mm = [(max(first, start_mm), min(last, stop_mm)) for first, last in spans_mm]
    return sorted(span for span in clipped_mm if span[0] < span[1])


def _stretch(
    circuit: Circuit, descent: _Descent, first_mm: float, last_mm: float, lowest_mm: float = -math.inf
) -> Floats:
    """Return the way from place to place, nowhere lower than ``lowest_mm``."""
    bends_mm = [descent.end_mm]
    if descent.lower_mm < lowest_mm < descent.upper_mm:
        bends_mm.append(descent.place_of(lowest_mm))
    places_mm = circuit.places(first_mm, last_mm, *(bend for bend in bends_mm if first_mm < bend < last_mm))
    return np.column_stack([circuit.at(places_mm), np.maximum(descent.at(places_mm), lowest_mm)])


def _behind_tab(cutout: Cutout, descent: _Descent, edge_mm: float) -> Iterator[Floats]:
    """Yield the way down behind a tab and back to its edge at depth."""
    slope = math.tan(math.radians(_TAB_RAMP_DEG))
    length_mm = 0.0
    for _ in range(40):  # where the way down meets the pass, itself perhaps still going down
        length_mm = (cutout.tab_top_mm - float(descent.at(edge_mm + length_mm))) / slope
    places_mm = cutout.circuit.places(edge_mm, edge_mm + length_mm)
    down_mm = cutout.tab_top_mm - (places_mm - edge_mm) * slope
    yield np.column_stack([cutout.circuit.at(places_mm), down_mm])
    yield _stretch(cutout.circuit, descent, edge_mm, edge_mm + length_mm)[::-1]
