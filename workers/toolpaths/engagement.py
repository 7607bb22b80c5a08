"""An even load on end mills: the feed falls where more of the bit's edge is in the wood than allowed.

How much is in the wood is looked up along the way in a map of what still stands, which the
bit clears as it goes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.toolpaths.pace import path_at
from workers.values.cutter import EndMill
from workers.values.cutting_plan import CutPath

Floats = NDArray[np.float64]
Depths = NDArray[np.float32]

_CELLS_A_RADIUS = 10
_MOST_CELLS = 16_000_000
_STEPS_A_RADIUS = 4  # between looks along the way
_LOOKS = 36  # round the front half of the bit, 5 degrees apart
_SKIN_MM = 0.02  # less wood than that above the tip is none
_SHARE_STEP = 0.1  # feeds fall in steps of a tenth: fewer words to write
_LEAST_SHARE = 0.3


@dataclass(slots=True, eq=False)
class StandingWood:
    """How deep the board is cut, cell by cell; changed by what follows a path."""

    depth_mm: Depths
    left_mm: float
    bottom_mm: float
    cell_mm: float


def standing_wood(paths: Sequence[CutPath], radius_mm: float, finest_mm: float) -> StandingWood:
    """Return uncut wood under paths and all round them.

    Args:
        paths: All that will be followed.
        radius_mm: Of the widest bit.
        finest_mm: Radius of the finest bit that will be followed.
    """
    places_mm = np.concatenate([path.points_mm[:, :2] for path in paths])
    low_mm, high_mm = places_mm.min(axis=0) - 2 * radius_mm, places_mm.max(axis=0) + 2 * radius_mm
    size_mm = high_mm - low_mm
    cell_mm = max(finest_mm / _CELLS_A_RADIUS, math.sqrt(float(size_mm.prod()) / _MOST_CELLS))
    columns, rows = (math.ceil(side) for side in (size_mm / cell_mm).tolist())
    return StandingWood(np.zeros((rows, columns), np.float32), float(low_mm[0]), float(low_mm[1]), cell_mm)


def eased_paths(
    paths: Sequence[CutPath], radius_mm: float, limit_deg: float, wood: StandingWood
) -> list[CutPath]:
    """Return paths with the feed lowered in proportion where more than the limit is engaged.

    Args:
        paths: Of one end mill, in the order in which it runs them.
        radius_mm: Of the mill.
        limit_deg: How much of its edge, as an angle, may be in the wood at full feed; 180 is a slot.
        wood: What stands before it; afterwards what it has left.
    """
    return [_eased(path, radius_mm, limit_deg, wood) for path in paths]


def evenly_loaded(
    cleared: Sequence[tuple[EndMill, list[CutPath]]], limit_deg: float
) -> list[tuple[EndMill, list[CutPath]]]:
    """Return what all mills do one after the other, each eased by what those before it have left."""
    cutting = [(mill, paths) for mill, paths in cleared if paths]
    if not cutting:
        return list(cleared)
    every = [path for _, paths in cutting for path in paths]
    radii_mm = [mill.diameter_mm / 2 for mill, _ in cutting]
    wood = standing_wood(every, max(radii_mm), min(radii_mm))
    return [(mill, eased_paths(paths, mill.diameter_mm / 2, limit_deg, wood)) for mill, paths in cleared]


def _eased(path: CutPath, radius_mm: float, limit_deg: float, wood: StandingWood) -> CutPath:
    points_mm = path.points_mm
    if len(points_mm) < 2:
        return path
    lengths_mm = np.linalg.norm(np.diff(points_mm, axis=0), axis=1)
    counts = np.maximum(1, np.ceil(lengths_mm / (radius_mm / _STEPS_A_RADIUS))).astype(np.int64)
    pieces = np.repeat(np.arange(len(counts)), counts)
    within = np.arange(len(pieces)) - np.repeat(np.cumsum(counts) - counts, counts)
    shares = ((within + 1) / counts[pieces])[:, None]
    finer_mm = np.vstack([points_mm[:1], points_mm[pieces] + shares * np.diff(points_mm, axis=0)[pieces]])
    engaged_deg = engaged_along(
        finer_mm, radius_mm, wood.depth_mm, wood.left_mm, wood.bottom_mm, wood.cell_mm
    )
    wanted = np.minimum(1.0, limit_deg / np.maximum(engaged_deg, limit_deg))
    eased = np.maximum(np.floor(_lowest_nearby(wanted) / _SHARE_STEP + 1e-9) * _SHARE_STEP, _LEAST_SHARE)
    feeds = path.feeds_mm_per_min[1:][pieces] * eased
    return path_at(finer_mm, np.concatenate([path.feeds_mm_per_min[:1], feeds]))


def _lowest_nearby(shares: Floats) -> Floats:
    """Return for each piece the least share within a radius of it: slow before the load comes."""
    reach = _STEPS_A_RADIUS
    padded = np.pad(shares, reach, mode="edge")
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1).min(axis=1))


@njit(cache=True)
def engaged_along(
    points_mm: Floats, radius_mm: float, depth_mm: Depths, left_mm: float, bottom_mm: float, cell_mm: float
) -> Floats:
    """Return for each piece how much of the bit's front edge meets wood, degrees, and cut it away."""
    rows, columns = depth_mm.shape
    engaged_deg = np.zeros(len(points_mm) - 1)
    heading = 0.0
    _clear_disc(points_mm[0], radius_mm, depth_mm, left_mm, bottom_mm, cell_mm)
    for piece in range(len(points_mm) - 1):
        x, y, z = points_mm[piece + 1]
        dx, dy = x - points_mm[piece, 0], y - points_mm[piece, 1]
        if dx != 0.0 or dy != 0.0:
            heading = math.atan2(dy, dx)
            met = 0
            for look in range(_LOOKS):
                angle = heading + math.pi * ((look + 0.5) / _LOOKS - 0.5)
                column = int((x + radius_mm * math.cos(angle) - left_mm) / cell_mm)
                row = int((y + radius_mm * math.sin(angle) - bottom_mm) / cell_mm)
                if 0 <= row < rows and 0 <= column < columns and depth_mm[row, column] < -z - _SKIN_MM:
                    met += 1
            engaged_deg[piece] = 180.0 * met / _LOOKS
        _clear_disc(points_mm[piece + 1], radius_mm, depth_mm, left_mm, bottom_mm, cell_mm)
    return engaged_deg


@njit(cache=True)
def _clear_disc(
    place_mm: Floats, radius_mm: float, depth_mm: Depths, left_mm: float, bottom_mm: float, cell_mm: float
) -> None:
    """Cut a flat disc down to a place's height."""
    rows, columns = depth_mm.shape
    x, y = (place_mm[0] - left_mm) / cell_mm - 0.5, (place_mm[1] - bottom_mm) / cell_mm - 0.5
    reach, depth = radius_mm / cell_mm, -place_mm[2]
    for row in range(max(0, math.ceil(y - reach)), min(rows - 1, math.floor(y + reach)) + 1):
        half = math.sqrt(max(reach * reach - (row - y) ** 2, 0.0))
        for column in range(max(0, math.ceil(x - half)), min(columns - 1, math.floor(x + half)) + 1):
            if depth_mm[row, column] < depth:
                depth_mm[row, column] = depth
