"""How long the V-bit will run, about, before any path is planned.

The way to cut is known at once: the middle of every stroke, in space, and the wall round every floor.
What a machine loses on it in bends and lifts is estimated: it brakes once in so many millimetres, and
lifts between pieces that do not hang together. Compared with the minutes of the programs themselves (twelve
drawings 80 mm wide, four choices of bit and limit): half are within 15 %, nine in ten within 38 %, the worst
is off by half; ``python -m tests.benchmarks.minutes_estimated`` prints it.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from workers.cutting_data.feeds import cutting_data
from workers.geometry.chains import chains
from workers.geometry.outline_diagram import ink_axis
from workers.geometry.vee import flank_slope
from workers.resolvability.centre_lines import split_at
from workers.values.cuts import InciseCut
from workers.values.cutting_plan import OperationKind
from workers.values.machine import Machine
from workers.values.material import Material
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Edges = NDArray[np.int32]

_BRAKES_EVERY_MM = 7.2  # fitted to the minutes of the proof
_JUST_BELOW = 1 - 1e-9  # a node put just where floors begin is no groove
_BETWEEN_MM = 20.0  # from where one piece ends to where the next begins (fitted)


def vee_minutes(
    region: Region, cut: InciseCut, material: Material, machine: Machine, scale: float = 1.0
) -> float:
    """Return about how many minutes the V-bit runs; end mills that clear floors come on top.

    Args:
        region: The ink.
        cut: The bit and the depth limit.
        material: What is cut.
        machine: Its speeds.
        scale: The size to be cut at, of the present one.
    """
    if region.polygons.is_empty:
        return 0.0
    slope, tip_mm = flank_slope(cut.cutter), cut.cutter.tip_mm
    floor_from_mm = slope * cut.depth_limit_mm + tip_mm / 2
    axis = split_at(_axis(region), 2 * floor_from_mm / scale)
    radius_mm = axis.nodes_mm[:, 2] * scale
    depth_mm = np.clip((radius_mm - tip_mm / 2) / slope, 0.0, cut.depth_limit_mm)
    data = cutting_data(cut.cutter, material, machine, OperationKind.INCISE)
    deepest_mm = float(depth_mm.max())
    passes = max(1, math.ceil(deepest_mm / data.pass_depth_mm - 1e-9))
    walls_mm = _walls_mm(region, floor_from_mm / scale) * scale if radius_mm.max() > floor_from_mm else 0.0
    length_mm, pieces = 0.0, 0
    for number in range(passes):
        cut_there = _cut_edges(
            axis, depth_mm, radius_mm < floor_from_mm * _JUST_BELOW, number * deepest_mm / passes
        )
        length_mm += _length_mm(axis, cut_there, depth_mm, scale) + walls_mm
        pieces += _pieces(axis, cut_there)
    feed_mm_per_s = min(data.feed_mm_per_min, machine.max_feed_mm_per_min) / 60
    seconds_s = machine.spin_up_s + length_mm / feed_mm_per_s
    seconds_s += length_mm / _BRAKES_EVERY_MM * feed_mm_per_s / machine.acceleration_mm_per_s2
    seconds_s += pieces * _lift_s(machine, deepest_mm, data.plunge_mm_per_min)
    return seconds_s / 60


@lru_cache(maxsize=1)  # an advice asks for one drawing a dozen times
def _axis(region: Region) -> MedialAxis:
    return ink_axis(region)


def _cut_edges(axis: MedialAxis, depth_mm: Floats, is_groove: Flags, upper_mm: float) -> Edges:
    """Return the edges of the axis that one depth pass follows."""
    ends = axis.edges
    return np.asarray(ends[(depth_mm[ends].mean(axis=1) > upper_mm) & is_groove[ends].any(axis=1)])


def _length_mm(axis: MedialAxis, edges: Edges, depth_mm: Floats, scale: float) -> float:
    """Return the length of edges in space."""
    steps_mm = scale * np.diff(axis.nodes_mm[edges, :2], axis=1)[:, 0]
    return float(np.sqrt((steps_mm**2).sum(axis=1) + np.diff(depth_mm[edges], axis=1)[:, 0] ** 2).sum())


def _walls_mm(region: Region, inset_mm: float) -> float:
    """Return how long the walls round floors are."""
    return float(region.polygons.buffer(-inset_mm, quad_segs=3).length)


def _pieces(axis: MedialAxis, edges: Edges) -> int:
    """Return how many pieces do not hang together."""
    part = MedialAxis(nodes_mm=axis.nodes_mm, edges=edges, lone_nodes=axis.lone_nodes[:0])
    leader: dict[int, int] = {}

    def led_by(node: int) -> int:
        while leader.setdefault(node, node) != node:
            leader[node] = node = leader[leader[node]]
        return node

    for run in chains(part):
        leader[led_by(int(run[0]))] = led_by(int(run[-1]))
    return sum(node == ahead for node, ahead in leader.items())


def _lift_s(machine: Machine, depth_mm: float, plunge_mm_per_min: float) -> float:
    """Return what it takes to lift off, go on and come down."""
    up_and_down_min = 2 * machine.clearance_mm / machine.traverse_z_mm_per_min
    return 60 * (up_and_down_min + _BETWEEN_MM / machine.traverse_mm_per_min + depth_mm / plunge_mm_per_min)
