"""Round the board's outline in depth passes, over tabs, led on and off in the waste, never straight down."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.toolpaths.circuit import Circuit, ramp_length_mm
from workers.toolpaths.cutout import TAB_RAMP_DEG, TAB_SLOPE_DEG, Cutout, Lap
from workers.toolpaths.leads import OVERLAP_MM, Lead
from workers.toolpaths.pace import Pace, cut_path
from workers.toolpaths.tabs import bends_deg
from workers.values.cutting_plan import CutPath

Floats = NDArray[np.float64]
Spans = list[tuple[float, float]]

_SLOPE_STEP_MM = 0.5  # between points near a sloped tab: only bends of the way count, so this is plenty
_MERGE_ALLOWANCES = 20.0  # length of the way onto the wall: as tangential as 1 in 20
_MERGE_POINTS = 25
_PLACES_TRIED = 41


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


def cutout_paths(cutout: Cutout, pass_depth_mm: float, pace: Pace, lead: Lead | None = None) -> list[CutPath]:
    """Return the path that goes down round the board, pass after pass, and the one along its wall.

    Each pass goes down in the waste, on to the outline along a quarter circle, a little more than
    once round it, and off it along another. At a square tab the bit rises, crosses, comes down along
    the outline behind the tab, returns at depth to the tab's edge and goes on: so the bridge is as
    wide as asked, and nothing is plunged into. Over a sloped tab it rises and falls on the way.

    Args:
        cutout: How the board is cut free.
        pass_depth_mm: Deepest single pass.
        pace: The feeds allowed.
        lead: On to the outline and off it; without one each pass goes down along the outline itself.
    """
    if lead is not None:
        return [cut_path(line_mm, pace) for line_mm in _led(cutout, pass_depth_mm, lead)]
    place_mm, upper_mm = 0.0, 0.0
    lines: list[Floats] = []
    for pass_mm in cutout.pass_depths_mm(pass_depth_mm):
        descent = _Descent(place_mm, upper_mm, -pass_mm)
        stop_mm = descent.end_mm + cutout.rough.circuit.length_mm
        lines += _stretches(cutout, cutout.rough, descent, stop_mm)
        place_mm, upper_mm = stop_mm, -pass_mm
    paths = [cut_path(np.vstack(lines), pace)]
    if cutout.wall is not None:
        paths.append(cut_path(_along_wall(cutout, cutout.wall), pace))
    return paths


def _led(cutout: Cutout, pass_depth_mm: float, lead: Lead) -> Iterator[Floats]:
    """Yield the way round in all its passes, and the one along the wall."""
    circuit, upper_mm = cutout.rough.circuit, 0.0
    lines: list[Floats] = []
    for pass_mm in cutout.pass_depths_mm(pass_depth_mm):
        lines.append(lead.way_down(circuit, upper_mm, -pass_mm))
        lines += _led_round(cutout, cutout.rough, lead, -pass_mm)
        upper_mm = -pass_mm
    yield np.vstack(lines)
    if cutout.wall is not None:
        begin_mm = lead.way_down(
            circuit, upper_mm, upper_mm
        )  # where the last helix has ended: nothing stands
        along = lead.on(circuit, cutout.wall.circuit)
        yield np.vstack([begin_mm, *_led_round(cutout, cutout.wall, along, upper_mm)])


def _led_round(cutout: Cutout, lap: Lap, lead: Lead, height_mm: float) -> Iterator[Floats]:
    """Yield one round at a height, from quarter circle to quarter circle."""
    level = _Descent(lead.start_mm, height_mm, height_mm)
    yield lead.way_in(lap.circuit, height_mm)
    yield from _stretches(cutout, lap, level, lead.stop_mm(lap.circuit))
    yield lead.way_out(lap.circuit, height_mm)


def _along_wall(cutout: Cutout, wall: Lap) -> Floats:
    """Return the round along the finished wall at full depth, (n, 3).

    It begins and ends in the slot that is cut already, and meets and leaves the wall at a slant
    too slight to leave a mark.
    """
    first_mm, last_mm = max(cutout.gaps_mm(), key=lambda gap: gap[1] - gap[0])
    room_mm = last_mm - first_mm
    middle_mm = wall.circuit.nearest_place(cutout.rough.circuit.at(np.array([(first_mm + last_mm) / 2]))[0])
    aside_mm = cutout.rough.circuit.distance_mm(wall.circuit.at(np.array([middle_mm]))[0])
    merge_mm = min(_MERGE_ALLOWANCES * aside_mm, room_mm / 4)
    start_mm = _straightest(wall.circuit, middle_mm, room_mm / 8, merge_mm + OVERLAP_MM)
    stop_mm = start_mm + wall.circuit.length_mm + min(OVERLAP_MM, room_mm / 8)
    level = _Descent(start_mm, -cutout.depth_mm, -cutout.depth_mm)
    return np.vstack(
        [
            _merged(cutout, wall.circuit, start_mm - merge_mm, start_mm, level),
            *_stretches(cutout, wall, level, stop_mm),
            _merged(cutout, wall.circuit, stop_mm + merge_mm, stop_mm, level)[::-1],
        ]
    )


def _straightest(circuit: Circuit, middle_mm: float, reach_mm: float, half_mm: float) -> float:
    """Return a place not farther than ``reach_mm`` from another, about which the line bends least."""
    places_mm = middle_mm + reach_mm * np.linspace(-1.0, 1.0, _PLACES_TRIED)
    bends = np.round(bends_deg(circuit, places_mm - half_mm, places_mm + half_mm), 3)
    return float(places_mm[np.lexsort((np.abs(places_mm - middle_mm), bends))[0]])


def _merged(cutout: Cutout, wall: Circuit, away_mm: float, on_mm: float, level: _Descent) -> Floats:
    """Return the way from the rough line onto the wall, along both at its ends."""
    share = np.linspace(0.0, 1.0, _MERGE_POINTS)
    weight = (share**2 * (3 - 2 * share))[:, None]
    along_mm = wall.at(away_mm + share * (on_mm - away_mm))
    rough = cutout.rough.circuit
    beside_mm = rough.at(np.array([rough.nearest_place(place) for place in along_mm]))
    plan_mm = (1 - weight) * beside_mm + weight * along_mm
    return np.column_stack([plan_mm, np.full(_MERGE_POINTS, level.lower_mm)])


def _stretches(cutout: Cutout, lap: Lap, descent: _Descent, stop_mm: float) -> Iterator[Floats]:
    """Yield the stretches of one pass, (n, 3) each."""
    if cutout.tabs_sloped:
        yield _over_slopes(cutout, lap, descent, stop_mm)
        return
    here_mm = descent.start_mm
    for first_mm, last_mm in _spans_between(lap, descent.start_mm, stop_mm):
        if float(descent.at(last_mm)) >= cutout.tab_top_mm:
            continue  # still above the tab
        if here_mm < first_mm:  # a pass may begin over a tab, where the one before it ended
            yield _stretch(lap.circuit, descent, here_mm, first_mm)
        yield _stretch(lap.circuit, descent, first_mm, last_mm, cutout.tab_top_mm)
        if last_mm < stop_mm:
            yield from _behind_tab(cutout, lap, descent, last_mm)
        here_mm = last_mm
    if here_mm < stop_mm:
        yield _stretch(lap.circuit, descent, here_mm, stop_mm)


def _spans_between(lap: Lap, start_mm: float, stop_mm: float, margin_mm: float = 0.0) -> Spans:
    """Return the lifted stretches from a place to a later one, also those that either lies in.

    With a margin, those too that begin or end no farther outside, and none of them cut short.
    """
    round_mm = lap.circuit.length_mm
    low_mm, high_mm = start_mm - margin_mm, stop_mm + margin_mm
    rounds = range(math.floor(low_mm / round_mm) - 1, math.floor(high_mm / round_mm) + 2)
    spans_mm = [(first + turn * round_mm, last + turn * round_mm) for turn in rounds
                for first, last in lap.tabs.spans_mm()]  # fmt: skip
    if margin_mm:
        return sorted((first, last) for first, last in spans_mm if first < high_mm and last > low_mm)
    clipped_mm = [(max(first, start_mm), min(last, stop_mm)) for first, last in spans_mm]
    return sorted(span for span in clipped_mm if span[0] < span[1])


def _over_slopes(cutout: Cutout, lap: Lap, descent: _Descent, stop_mm: float) -> Floats:
    """Return one pass that rises and falls over its tabs without a stop."""
    slope = math.tan(math.radians(TAB_SLOPE_DEG))
    flank_mm = max(cutout.tab_top_mm - descent.lower_mm, 0.0) / slope
    spans_mm = _spans_between(lap, descent.start_mm, stop_mm, flank_mm) if flank_mm else []
    bends_mm = [descent.end_mm]
    for first_mm, last_mm in spans_mm:
        feet_mm = (first_mm - flank_mm, first_mm, last_mm, last_mm + flank_mm)
        bends_mm += [*feet_mm, *np.arange(feet_mm[0], feet_mm[3], _SLOPE_STEP_MM).tolist()]
    inside_mm = [bend for bend in bends_mm if descent.start_mm < bend < stop_mm]
    places_mm = lap.circuit.places(descent.start_mm, stop_mm, *inside_mm)
    heights_mm = descent.at(places_mm)
    for first_mm, last_mm in spans_mm:
        beside_mm = np.maximum(np.maximum(first_mm - places_mm, places_mm - last_mm), 0.0)
        heights_mm = np.maximum(heights_mm, cutout.tab_top_mm - beside_mm * slope)
    return np.column_stack([lap.circuit.at(places_mm), heights_mm])


def _stretch(
    circuit: Circuit, descent: _Descent, first_mm: float, last_mm: float, lowest_mm: float = -math.inf
) -> Floats:
    """Return the way from place to place, nowhere lower than ``lowest_mm``."""
    bends_mm = [descent.end_mm]
    if descent.lower_mm < lowest_mm < descent.upper_mm:
        bends_mm.append(descent.place_of(lowest_mm))
    places_mm = circuit.places(first_mm, last_mm, *(bend for bend in bends_mm if first_mm < bend < last_mm))
    return np.column_stack([circuit.at(places_mm), np.maximum(descent.at(places_mm), lowest_mm)])


def _behind_tab(cutout: Cutout, lap: Lap, descent: _Descent, edge_mm: float) -> Iterator[Floats]:
    """Yield the way down behind a tab and back to its edge at depth."""
    slope = math.tan(math.radians(TAB_RAMP_DEG))
    length_mm = 0.0
    for _ in range(40):  # where the way down meets the pass, itself perhaps still going down
        length_mm = (cutout.tab_top_mm - float(descent.at(edge_mm + length_mm))) / slope
    places_mm = lap.circuit.places(edge_mm, edge_mm + length_mm)
    down_mm = cutout.tab_top_mm - (places_mm - edge_mm) * slope
    yield np.column_stack([lap.circuit.at(places_mm), down_mm])
    yield _stretch(lap.circuit, descent, edge_mm, edge_mm + length_mm)[::-1]
