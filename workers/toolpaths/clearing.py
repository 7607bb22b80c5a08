"""Floors with end mills: in rings from the inside to the wall, or in lines along the grain.

Each pocket is finished before the next, in depth passes, each of them ramped into.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from workers.geometry.offsets import inset
from workers.geometry.ordering import shortest_order
from workers.geometry.path_simplification import simplified
from workers.toolpaths.circuit import RAMP_DEG, Circuit, ramp_length_mm, ramped_round
from workers.toolpaths.clearance import Clearance
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.floor_entries import FloorEntries
from workers.toolpaths.grain_lines import grain_lines
from workers.toolpaths.leads import Lead, placed_lead
from workers.toolpaths.opened_floors import opened_floors, opening_lines
from workers.toolpaths.pace import PATH_TOLERANCE_MM, Pace, cut_path
from workers.toolpaths.rings import Room, linked_rings, pockets, ring_levels
from workers.toolpaths.strands import at_height
from workers.values.cutting_plan import CutPath
from workers.values.region import Region

Floats = NDArray[np.float64]

_LONGEST_LINK_DIAMETERS = 4.0  # through uncut stock between rings; beyond it lifting and ramping is as quick
_WIDEST_STEP_RADII = 0.95  # rings no farther apart than the mill's radius leave nothing standing
_INSIDE_WALL_RADII = 0.5  # lines end so far before the round along the wall: both together reach all
_TOUCHING_MM = 0.01  # chords and rounding
_MOST_TURNS_COUNT = 30  # a ramp along a very short line gets steeper rather than turn more often


def clearing_paths(
    clearance: Clearance,
    depth_mm: float,
    pass_depth_mm: float,
    stepover_mm: float,
    pace: Pace,
    climb: bool = True,
    grain_deg: float | None = None,
    engagement_deg: float | None = None,
    upright: bool = False,
) -> list[CutPath]:
    """Return the paths that take the floor down to its depth.

    Args:
        clearance: Where the mill goes.
        depth_mm: Of the floor.
        pass_depth_mm: Deepest single pass.
        stepover_mm: From ring to ring or line to line.
        pace: The feeds allowed.
        climb: The wall on the right of the way, with the spindle's usual sense (trade.md P-08);
            else on the left. Lines along the grain run both ways, only the round along the wall has one.
        grain_deg: Direction of lines from the x axis; None for rings.
        engagement_deg: How much of the mill's edge should be in the wood; None: rings as they come.
        upright: The wall is the mill's own, and stays as it leaves it: the round along it is led on and off.
    """
    if clearance.centres.polygons.is_empty:
        return []
    step_mm = min(stepover_mm, _WIDEST_STEP_RADII * clearance.radius_mm)
    entries = FloorEntries(clearance, _LONGEST_LINK_DIAMETERS * clearance.mill.diameter_mm)
    lines_mm: list[Floats] = []
    if engagement_deg is not None:
        openings, slots = opened_floors(clearance, engagement_deg, step_mm, climb, entries)
        lines_mm += [line for opening in openings for line in opening_lines(opening, depth_mm, pass_depth_mm)]
        clearance = replace(clearance, centres=slots)
    if grain_deg is None:
        pockets_runs = _rings(clearance, step_mm, climb)
    else:
        pockets_runs = _lines(clearance, step_mm, climb, grain_deg)
    starts_mm = np.array([_start_mm(runs[0]) for runs in pockets_runs]).reshape(-1, 2)
    order, _ = shortest_order(starts_mm, starts_mm)
    for runs in (pockets_runs[pocket] for pocket in order.tolist()):
        lead = _wall_lead(runs[-1], clearance, climb) if upright else None
        lines_mm += _pocket_lines(runs, entries, lead, pass_depths_mm(depth_mm, pass_depth_mm))
    return [cut_path(simplified(line_mm, PATH_TOLERANCE_MM), pace) for line_mm in lines_mm]


def _pocket_lines(
    runs: list[Run], entries: FloorEntries, lead: Lead | None, depths_mm: Sequence[float]
) -> Iterator[Floats]:
    """Yield a pocket's runs in all passes, (n, 3) each: from cleared floor, or down along themselves."""
    sideways = [entries.into(run) if isinstance(run, list) else None for run in runs]
    for upper_mm, pass_mm in itertools.pairwise([0.0, *depths_mm]):
        for run, beside_mm in zip(runs, sideways, strict=True):
            if beside_mm is not None:
                yield at_height(beside_mm, -pass_mm)
            elif isinstance(run, list):
                yield rings_down(run, -upper_mm, -pass_mm, lead if run is runs[-1] else None)
            else:
                yield line_down(run, -upper_mm, -pass_mm)


Run = list[Circuit] | Floats  # rings one after the other, or an open line (n, 2)


def _rings(clearance: Clearance, step_mm: float, climb: bool) -> list[list[Run]]:
    levels = ring_levels(clearance.centres, step_mm)
    longest_mm = _LONGEST_LINK_DIAMETERS * clearance.mill.diameter_mm
    room = Room(clearance.centres)
    return [list[Run](linked_rings(_turned(rings, climb), room, longest_mm)) for rings in pockets(levels)]


def _lines(clearance: Clearance, step_mm: float, climb: bool, grain_deg: float) -> list[list[Run]]:
    """Return for each pocket its lines, and after them the rounds along its walls."""
    room = Room(clearance.centres)
    found: list[list[Run]] = []
    for part in clearance.centres.polygons.geoms:
        pocket = Region(type(clearance.centres.polygons)([part]))
        inner = inset(pocket, _INSIDE_WALL_RADII * clearance.radius_mm)
        walls = pockets([pocket])[0]
        runs: list[Run] = list(grain_lines(inner, step_mm, grain_deg, room))
        found.append(runs + [[wall] for wall in _turned(walls, climb)])
    return found


def _wall_lead(run: Run, clearance: Clearance, climb: bool) -> Lead | None:
    """Return how the last ring of a run is led on to and off, if there is room."""
    if not isinstance(run, list):
        return None
    wall, before = run[-1], run[-2] if len(run) > 1 else None
    room_mm = clearance.centres.polygons.buffer(_TOUCHING_MM)
    lead = placed_lead(wall, [(0.0, wall.length_mm)], clearance.radius_mm, room_mm, climb)
    if lead is None or before is None:
        return lead
    link_mm = np.vstack([before.points_mm[-1], lead.way_in(wall, 0.0)[0, :2]])
    return lead if Room(clearance.centres).holds(link_mm[None])[0] else None


def _turned(circuits: Sequence[Circuit], climb: bool) -> list[Circuit]:
    return list(circuits) if climb else [Circuit(circuit.points_mm[::-1]) for circuit in circuits]


def _start_mm(run: Run) -> Floats:
    return np.asarray(run[0].points_mm[0] if isinstance(run, list) else run[0])


def rings_down(run: list[Circuit], upper_mm: float, lower_mm: float, lead: Lead | None = None) -> Floats:
    """Return one run of rings: down along the first, round it, and on to the others, (n, 3).

    With a lead the last ring is met and left along it; if it is the only one, the bit goes down beside it.
    """
    if lead is not None:
        wall, inner = run[-1], run[:-1]
        down_mm = rings_down(inner, upper_mm, lower_mm) if inner else lead.way_down(wall, upper_mm, lower_mm)
        return np.vstack([down_mm, lead.round_at(wall, lower_mm)])
    flat = [at_height(ring.points_mm, lower_mm) for ring in run[1:]]
    return np.vstack([ramped_round(run[0], upper_mm, lower_mm), *flat])


def line_down(line_mm: Floats, upper_mm: float, lower_mm: float) -> Floats:
    """Return a line (n, 2) run from its start: down to and fro along its first piece, then on, (n, 3)."""
    first_mm = float(np.linalg.norm(line_mm[1] - line_mm[0]))
    trips = min(ramp_length_mm(upper_mm - lower_mm, RAMP_DEG) / (2 * first_mm), _MOST_TURNS_COUNT)
    whole = max(1, int(np.ceil(trips - 1e-9)))
    ends_mm = np.vstack([line_mm[[0, 1]]] * whole + [line_mm[:1]])
    # a way to and fro that is longer than the ramp needs turns back earlier
    share = min(1.0, trips / whole)
    ends_mm = line_mm[0] + share * (ends_mm - line_mm[0])
    heights_mm = np.linspace(upper_mm, lower_mm, len(ends_mm))
    return np.vstack([np.column_stack([ends_mm, heights_mm]), at_height(line_mm[1:], lower_mm)])
