"""How fast each piece of a path may be run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.cutting_plan import CutPath
from workers.values.machine import Machine
from workers.values.material import CuttingData

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

COORDINATE_MM = 1e-4  # what paths are rounded to: finer than any dialect writes, so files keep them exactly
PATH_TOLERANCE_MM = 0.005  # halves the moves; the surface stays within the tolerance of the proof
_FEED_STEP_MM_PER_MIN = 10.0  # as fine as anybody sets a feed; fewer steps, fewer words to write


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """A bit's feeds in a material, and the machine's limits."""

    feed_mm_per_min: float
    plunge_mm_per_min: float  # straight down into stock; of a slope, its downward part
    max_vertical_mm_per_min: float  # what the machine's z axis does
    lift_worth_mm: float  # feed that takes as long as lifting off and coming down beside


def pace_of(data: CuttingData, machine: Machine, depth_mm: float) -> Pace:
    """Return the pace of a bit that cuts at about this depth."""
    lift_min = 2 * machine.clearance_mm / machine.traverse_z_mm_per_min
    lift_min += (1.0 + depth_mm) / data.plunge_mm_per_min + machine.clearance_mm / machine.traverse_mm_per_min
    return Pace(
        feed_mm_per_min=min(data.feed_mm_per_min, machine.max_feed_mm_per_min),
        plunge_mm_per_min=min(data.plunge_mm_per_min, machine.max_plunge_mm_per_min),
        max_vertical_mm_per_min=machine.max_plunge_mm_per_min,
        lift_worth_mm=lift_min * data.feed_mm_per_min,
    )


def feeds_along(points_mm: Floats, again: Flags, pace: Pace) -> Floats:
    """Return the feed to each point: full, but no faster down into stock than a plunge.

    Args:
        points_mm: (n, 3) the path.
        again: (n - 1,) pieces that have been cut before: nothing is in their way.
        pace: The feeds allowed.
    """
    steps_mm = np.diff(points_mm, axis=0)
    lengths_mm = np.maximum(np.linalg.norm(steps_mm, axis=1), 1e-12)
    rise = steps_mm[:, 2] / lengths_mm
    vertical = np.where((rise < 0) & ~again, pace.plunge_mm_per_min, pace.max_vertical_mm_per_min)
    feeds = np.minimum(pace.feed_mm_per_min, vertical / np.maximum(np.abs(rise), 1e-12))
    feeds = np.concatenate([[pace.plunge_mm_per_min], feeds])
    return np.maximum(np.floor(feeds / _FEED_STEP_MM_PER_MIN + 1e-9), 1.0) * _FEED_STEP_MM_PER_MIN


def cut_path(points_mm: Floats, pace: Pace, again: Flags | None = None) -> CutPath:
    """Return points as a cut path, rounded, without points that rounding makes equal."""
    again = np.zeros(len(points_mm) - 1, np.bool_) if again is None else again
    points_mm = np.round(points_mm / COORDINATE_MM) * COORDINATE_MM
    points_mm = np.round(points_mm, 4) + 0.0
    moving = (np.diff(points_mm, axis=0) != 0).any(axis=1)
    points_mm = points_mm[np.concatenate([[True], moving])]
    return CutPath(points_mm, feeds_along(points_mm, again[moving], pace))
