"""The outline of an area as straight pieces, and how far to each side they can be nearest.

Inside an area, the nearest place of its outline is either the foot of a perpendicular, on
the area's side of a piece, or a corner that points into the area, between the normals of
its two pieces. So each piece is responsible for a strip on its left, widened at both
ends to half the fan of such a corner; nothing else can be nearest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.values.region import Region

_WIDEST_FAN = 1.0  # tan of half the turn; sharper corners get a square of their own
_SHORTEST_MM = 1e-9


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Boundary:
    """Pieces with the area on their left; arrays of one length n."""

    starts_mm: NDArray[np.float64]  # (n, 2)
    ends_mm: NDArray[np.float64]  # (n, 2), to the last bit the start of the next: no row slips between
    directions: NDArray[np.float64]  # (n, 2) of unit length
    lengths_mm: NDArray[np.float64]
    fans: NDArray[np.float64]  # (n, 2) how much the strip widens per mm, before its start and past its end
    has_spike: NDArray[np.bool_]  # whether its start is a corner too sharp for a fan


def boundary_of(region: Region) -> Boundary:
    """Return the outline of a region, ring by ring; repeated points are left out."""
    parts = [_ring_pieces(ring) for ring in _rings(region)]
    if not parts:
        none = np.empty((0, 2))
        parts = [(none, none, none, np.empty(0), none, np.empty(0, np.bool_))]
    starts, ends, directions, lengths, fans, spikes = (
        np.concatenate(column) for column in zip(*parts, strict=True)
    )
    return Boundary(
        starts_mm=starts,
        ends_mm=ends,
        directions=directions,
        lengths_mm=lengths,
        fans=fans,
        has_spike=spikes,
    )


def _rings(region: Region) -> list[NDArray[np.float64]]:
    rings: list[NDArray[np.float64]] = []
    for polygon in region.polygons.geoms:
        rings.extend(shapely.get_coordinates(ring) for ring in (polygon.exterior, *polygon.interiors))
    return rings


def _ring_pieces(points_mm: NDArray[np.float64]) -> tuple[NDArray[np.generic], ...]:
    steps = np.diff(points_mm, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    kept = lengths > _SHORTEST_MM
    starts, lengths = points_mm[:-1][kept], lengths[kept]
    directions = steps[kept] / lengths[:, np.newaxis]
    before = np.roll(directions, 1, axis=0)
    turn_sine = before[:, 0] * directions[:, 1] - before[:, 1] * directions[:, 0]
    right_turn_rad = np.arctan2(-turn_sine, (before * directions).sum(axis=1))
    at_reflex = np.tan(np.maximum(right_turn_rad, 0.0) / 2)
    spikes = at_reflex > _WIDEST_FAN
    fan = np.minimum(at_reflex, _WIDEST_FAN)
    fans = np.stack([fan, np.roll(fan, -1)], axis=1)
    return starts, np.roll(starts, -1, axis=0), directions, lengths, fans, spikes


def strip_corners(boundary: Boundary, reach_mm: float, slack_mm: float) -> NDArray[np.float64]:
    """Return the four corners (n, 4, 2) of the strip of each piece, a little widened.

    Args:
        boundary: The pieces.
        reach_mm: How far from the outline distances are wanted.
        slack_mm: By how much strips overlap, so that rounding leaves no gap.
    """
    along, fans = boundary.directions[:, np.newaxis, :], boundary.fans * (reach_mm + slack_mm)
    normal = np.stack([-boundary.directions[:, 1], boundary.directions[:, 0]], axis=1)[:, np.newaxis, :]
    length = boundary.lengths_mm
    zero = np.zeros_like(length)
    ways = np.stack([zero, length, length + fans[:, 1], -fans[:, 0]], axis=1) + slack_mm * np.array(
        [-1.0, 1.0, 1.0, -1.0]
    )
    heights = np.array([-slack_mm, -slack_mm, reach_mm + slack_mm, reach_mm + slack_mm])
    offsets = along * ways[:, :, np.newaxis] + normal * heights[np.newaxis, :, np.newaxis]
    return np.ascontiguousarray(boundary.starts_mm[:, np.newaxis, :] + offsets)
