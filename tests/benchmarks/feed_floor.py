"""The least a V-bit can need for a design: from the drawing, the bits and the machine, and from no plan.

Its way is every line of the ink's medial axis as far as it lies above the depth limit, corner branches too,
and every wall of a floor, each once; and what of the floors is out of the end mill's reach, farther from a
wall than half a step, as area over the step that leaves ridges of 0.025 mm (trade.md V-07).

*At feed*: all of that at the feed, as if the machine were at any speed at once; no lift, no way between.

*On the machine*: with its acceleration, its z axis and its corners. Each line is by itself, entered and
left at whatever speed, with as many points as suit it best; a part of a floor is run to and fro in strokes
as long as half its outline, which is their length in a strip and more than it in any other shape. It is still
less than a plan can reach: the bit must also get from line to line, and out of corners again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.geometry.chains import chains
from workers.geometry.medial_axis import medial_axis
from workers.geometry.path_simplification import simplified
from workers.simulation.duration import corner_speeds_mm_per_s, planned_s
from workers.values.cutter import EndMill, VeeCutter
from workers.values.machine import Machine
from workers.values.region import Region

Floats = NDArray[np.float64]

RIDGE_MM = 0.025
LOST_BRANCH_MM = 0.015  # as in the plan: a finer axis is mostly joints of chords
TOLERANCES_MM = (0.002, 0.005, 0.01)
AT_ONCE = 1e12  # an acceleration


@dataclass(frozen=True, kw_only=True)
class FeedFloor:
    """Minutes that no plan goes below."""

    at_feed_min: float
    on_machine_min: float


def feed_floor(
    ink: Region, vee: VeeCutter, mill: EndMill, depth_mm: float, feed_mm_per_min: float, machine: Machine
) -> FeedFloor:
    """Return the floor of the V-bit's minutes for a design whose floors an end mill clears.

    Args:
        ink: What is cut.
        vee: The V-bit.
        mill: The end mill, run wherever it fits.
        depth_mm: The depth limit.
        feed_mm_per_min: Of the V-bit.
        machine: The machine.
    """
    slope = math.tan(math.radians(vee.included_angle_deg) / 2)
    walls = ink.polygons.buffer(-(vee.tip_mm / 2 + slope * depth_mm), quad_segs=64)
    outlines = shapely.get_parts(walls.boundary)
    lines = [*_axis_lines(ink, vee, slope, depth_mm), *(_level(outline) for outline in outlines)]
    step_mm = vee.tip_mm + 2 * slope * RIDGE_MM
    milled = ink.polygons.buffer(-(slope * depth_mm + mill.diameter_mm / 2), quad_segs=64)
    milled = milled.buffer(mill.diameter_mm / 2, quad_segs=64)
    rests = shapely.get_parts(walls.buffer(-step_mm / 2).difference(milled))
    rests = rests[shapely.area(rests) > 0]
    feed = feed_mm_per_min / 60
    way_mm = sum(float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line in lines)
    way_mm += float(shapely.area(rests).sum()) / step_mm
    on_machine_s = sum(min(_line_s(line, feed, machine, far) for far in TOLERANCES_MM) for line in lines)
    on_machine_s += sum(_rest_s(rest, step_mm, feed, machine) for rest in rests)
    return FeedFloor(at_feed_min=way_mm / feed / 60, on_machine_min=on_machine_s / 60)


def _axis_lines(ink: Region, vee: VeeCutter, slope: float, depth_mm: float) -> Iterator[Floats]:
    """Yield the lines of the axis as the bit's tip runs them, above the limit and below the face."""
    axis = medial_axis(ink, LOST_BRANCH_MM)
    for chain in chains(axis):
        line_mm = axis.nodes_mm[chain] * [1.0, 1.0, -1 / slope] + [0.0, 0.0, vee.tip_mm / 2 / slope]
        line_mm = _with_crossings(_with_crossings(line_mm, 0.0), -depth_mm)
        middle_mm = (line_mm[1:, 2] + line_mm[:-1, 2]) / 2
        kept = (middle_mm < 0) & (middle_mm >= -depth_mm)
        edges = np.flatnonzero(np.diff(np.concatenate([[0], kept, [0]])))
        for first, last in edges.reshape(-1, 2).tolist():
            yield line_mm[first : last + 1]


def _with_crossings(line_mm: Floats, height_mm: float) -> Floats:
    above_mm = line_mm[:, 2] - height_mm
    rows = np.flatnonzero(above_mm[1:] * above_mm[:-1] < 0)
    share = (above_mm[rows] / (above_mm[rows] - above_mm[rows + 1]))[:, None]
    return np.insert(line_mm, rows + 1, line_mm[rows] + share * (line_mm[rows + 1] - line_mm[rows]), axis=0)


def _level(outline: shapely.LineString) -> Floats:
    return np.column_stack([shapely.get_coordinates(outline), np.zeros(len(outline.coords))])


def _line_s(line_mm: Floats, feed: float, machine: Machine, tolerance_mm: float) -> float:
    """Return the seconds for a line entered and left at any speed."""
    steps_mm = np.diff(simplified(line_mm, tolerance_mm), axis=0)
    steps_mm = steps_mm[np.linalg.norm(steps_mm, axis=1) > 1e-9]
    if not len(steps_mm):
        return 0.0
    lengths_mm = np.linalg.norm(steps_mm, axis=1)
    along = steps_mm / lengths_mm[:, None]
    upright = machine.max_plunge_mm_per_min / 60
    speeds = np.minimum(feed, upright / np.maximum(np.abs(along[:, 2]), 1e-12))
    accelerations = machine.acceleration_mm_per_s2 / np.abs(along).max(axis=1)
    corners = corner_speeds_mm_per_s(
        along, lengths_mm, machine.acceleration_mm_per_s2, machine.junction_deviation_mm
    )
    lead_mm, at_once, free = np.array([1e-6]), np.array([AT_ONCE]), np.array([np.inf])
    return planned_s(
        np.concatenate([lead_mm, lengths_mm, lead_mm]),
        np.concatenate([speeds[:1], speeds, speeds[-1:]]),
        np.concatenate([at_once, accelerations, at_once]),
        np.concatenate([free, corners, free]),
    )


def _rest_s(rest: shapely.Polygon, step_mm: float, feed: float, machine: Machine) -> float:
    """Return the seconds for a part of a floor in strokes of half its outline (trade.md 6: rest to rest)."""
    stroke_mm = rest.length / 2
    ramp_mm = feed**2 / machine.acceleration_mm_per_s2
    if stroke_mm >= ramp_mm:
        stroke_s = stroke_mm / feed + feed / machine.acceleration_mm_per_s2
    else:
        stroke_s = 2 * math.sqrt(stroke_mm / machine.acceleration_mm_per_s2)
    return float(rest.area / step_mm / stroke_mm * stroke_s)
