"""How fast each piece of a path may be run."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.arc_fitting import fitted_arcs
from workers.geometry.path_simplification import kept
from workers.values.cutting_plan import CutPath
from workers.values.machine import Machine
from workers.values.material import CuttingData

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

COORDINATE_MM = 1e-4  # what paths are rounded to: finer than any dialect writes, so files keep them exactly
PATH_TOLERANCE_MM = 0.005  # halves the moves; the surface stays within the tolerance of the proof
ARC_TOLERANCE_MM = 0.004  # from the path's points; from their chords as much more as those are off
LOW_MM = 1.0  # over the face between neighbouring cuts: 1 to 2 mm is usual (trade.md P-10, memory)
_HOP_LENGTH_MM = 5.0  # to what is cut next, roughly
_STRAIGHT_MM = 2e-4  # a point that rounding alone keeps off the line between its neighbours
_WORD_MM = 0.00127  # half the last digit of an inch: short slopes are written that much steeper or flatter
_FEED_STEP_MM_PER_MIN = 10.0  # as fine as anybody sets a feed; fewer steps, fewer words to write


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """A bit's feeds in a material, and the machine's limits."""

    feed_mm_per_min: float
    plunge_mm_per_min: float  # straight down into stock; of a slope, its downward part
    max_vertical_mm_per_min: float  # what the machine's z axis does
    lift_worth_mm: float  # feed that takes as long as lifting off the face and coming down to it beside
    depth_worth: float  # feed that takes as long as going one mm deeper for it and coming up again
    air_worth: float  # feed that takes as long as one mm of the way over the work
    depth_weight: float = 1.0  # a deviation in depth against one sideways: a cone's edge moves by less

    def lift_worth_at(self, depth_mm: float) -> float:
        """Return the feed that takes as long as lifting off at a depth and coming down to it beside."""
        return self.lift_worth_mm + depth_mm * self.depth_worth


def pace_of(data: CuttingData, machine: Machine) -> Pace:
    """Return the pace of a bit."""
    hop_mm = min(LOW_MM, machine.clearance_mm)
    hop_s = 2 * _rest_to_rest_s(hop_mm, machine.traverse_z_mm_per_min, machine)
    hop_s += _rest_to_rest_s(_HOP_LENGTH_MM, machine.traverse_mm_per_min, machine)
    return Pace(
        feed_mm_per_min=min(data.feed_mm_per_min, machine.max_feed_mm_per_min),
        plunge_mm_per_min=min(data.plunge_mm_per_min, machine.max_plunge_mm_per_min),
        max_vertical_mm_per_min=machine.max_plunge_mm_per_min,
        lift_worth_mm=hop_s / 60 * data.feed_mm_per_min,
        depth_worth=data.feed_mm_per_min / machine.traverse_z_mm_per_min
        + data.feed_mm_per_min / data.plunge_mm_per_min,
        air_worth=data.feed_mm_per_min / machine.traverse_mm_per_min,
    )


def _rest_to_rest_s(length_mm: float, speed_mm_per_min: float, machine: Machine) -> float:
    """Return the seconds for one straight motion (trade.md, part 6)."""
    speed, acceleration = speed_mm_per_min / 60, machine.acceleration_mm_per_s2
    if length_mm >= speed**2 / acceleration:
        return length_mm / speed + speed / acceleration
    return 2 * math.sqrt(length_mm / acceleration)


def feeds_along(points_mm: Floats, again: Flags, pace: Pace) -> Floats:
    """Return the feed to each point: full, but no faster down into stock than a plunge.

    Args:
        points_mm: (n, 3) the path.
        again: (n - 1,) pieces that have been cut before: nothing is in their way.
        pace: The feeds allowed.
    """
    steps_mm = np.diff(points_mm, axis=0)
    lengths_mm = np.linalg.norm(steps_mm, axis=1)
    climbs_mm = np.abs(steps_mm[:, 2])
    steepest_mm = np.where(climbs_mm > 0, climbs_mm + 2 * _WORD_MM, 0.0)
    steepness = np.minimum(steepest_mm / np.maximum(lengths_mm - 2 * _WORD_MM, 1e-12), 1.0)
    vertical = np.where((steps_mm[:, 2] < 0) & ~again, pace.plunge_mm_per_min, pace.max_vertical_mm_per_min)
    feeds = np.minimum(pace.feed_mm_per_min, vertical / np.maximum(steepness, 1e-12))
    feeds = np.concatenate([[pace.plunge_mm_per_min], feeds])
    return np.maximum(np.floor(feeds / _FEED_STEP_MM_PER_MIN + 1e-9), 1.0) * _FEED_STEP_MM_PER_MIN


def cut_path(points_mm: Floats, pace: Pace, again: Flags | None = None) -> CutPath:
    """Return points as a cut path: rounded, straight runs in one piece, arcs found.

    Args:
        points_mm: (n, 3) the path.
        pace: The feeds allowed.
        again: (n - 1,) pieces that have been cut before.
    """
    again = np.zeros(len(points_mm) - 1, np.bool_) if again is None else again
    points_mm, moving = _rounded(points_mm)
    return path_at(points_mm, feeds_along(points_mm, again[moving], pace), pace.depth_weight)


def path_at(points_mm: Floats, feeds: Floats, depth_weight: float = 1.0) -> CutPath:
    """Return points with the feed to each of them as a cut path: straight runs in one piece, arcs found."""
    points_mm, moving = _rounded(points_mm)
    feeds = feeds[np.concatenate([[True], moving])]
    stays = _needed(points_mm, feeds)
    points_mm, feeds = points_mm[stays], feeds[stays]
    weighed_mm = points_mm * np.array([1.0, 1.0, depth_weight])
    rows, turns_rad = fitted_arcs(
        weighed_mm, _feed_groups(feeds), ARC_TOLERANCE_MM, PATH_TOLERANCE_MM + ARC_TOLERANCE_MM
    )
    return CutPath(points_mm, feeds, rows, turns_rad)


def _rounded(points_mm: Floats) -> tuple[Floats, Flags]:
    """Return points rounded, none equal to the one before, and which pieces are left."""
    points_mm = np.round(points_mm / COORDINATE_MM) * COORDINATE_MM
    points_mm = np.round(points_mm, 4) + 0.0
    moving = (np.diff(points_mm, axis=0) != 0).any(axis=1)
    return points_mm[np.concatenate([[True], moving])], moving


def _needed(points_mm: Floats, feeds: Floats) -> Flags:
    """Return which points are not on the straight way between others, run at one feed."""
    if len(points_mm) < 3:
        return np.ones(len(points_mm), np.bool_)
    changes = np.flatnonzero(np.diff(_feed_groups(feeds))) + 1  # points where the feed changes
    rows = np.insert(
        np.arange(len(points_mm)), changes, changes
    )  # each the end of one run, the start of the next
    starts = np.concatenate([[0], changes + 1 + np.arange(len(changes)), [len(rows)]]).astype(np.int32)
    needed = np.zeros(len(points_mm), np.bool_)
    needed[rows[kept(np.ascontiguousarray(points_mm[rows]), starts, _STRAIGHT_MM)]] = True
    steps_mm = np.diff(points_mm, axis=0)
    turns_back = (steps_mm[1:] * steps_mm[:-1]).sum(axis=1) < 0  # a peck lies on its own line, and is one
    needed[1:-1] |= turns_back
    return needed


def _feed_groups(feeds: Floats) -> NDArray[np.int32]:
    """Return a number for each piece, another one wherever the feed changes."""
    return np.concatenate([[0], np.cumsum(np.diff(feeds[1:]) != 0)]).astype(np.int32)[: len(feeds) - 1]
