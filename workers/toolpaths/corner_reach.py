"""Rings that reach out into sharp corners, so that nothing stays between one ring's corner and the next's."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from workers.toolpaths.circuit import Circuit

Floats = NDArray[np.float64]

_LONGEST_STEPS = 4.0  # a corner sharper than this reaches out of is left to lines of its own
_SPARE_FRACTION = 0.15  # of the reach: what cutting off the ring's own corner costs
_SHOULDER_FRACTION = (
    1.0  # of the way out: where the ring leaves its side for the corner, bending half as much
)


@dataclass(frozen=True, slots=True, eq=False)
class ReachingRing:
    """A ring led out into its corners, and the pieces that lead there."""

    circuit: Circuit
    corners_mm: Floats  # (k, 3, 2): from one side out into the corner and back to the other side


def reaching_ring(
    ring: Circuit, step_mm: float, reach_mm: float, holds: Callable[[Floats], NDArray[np.bool_]]
) -> ReachingRing:
    """Return a ring led out into each sharp corner just as far as the ring outside it leaves something.

    Between the corners of two rings a step apart there is step / sin(half the corner's angle); what
    the outer ring's sides cover of it, and what is within reach of the inner one, may leave a gap. A
    bit that turns in the gap instead of before it stops no more often than it did.

    Args:
        ring: The area is on its left.
        step_mm: To the ring outside.
        reach_mm: How far from what is run a point may be.
        holds: Tells which of the ways (k, 3, 2) into corners are allowed.
    """
    places_mm = ring.points_mm[:-1]
    before_mm = places_mm - np.roll(places_mm, 1, axis=0)
    lengths_mm = np.linalg.norm(before_mm, axis=1)
    into = before_mm / np.maximum(lengths_mm, 1e-12)[:, None]
    out = np.roll(into, -1, axis=0)
    sine = np.linalg.norm(into + out, axis=1) / 2  # of half the corner's angle
    is_convex = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0] > 0
    leaves = is_convex & (step_mm > reach_mm * (1 + sine))
    needed_mm = step_mm - (1 - _SPARE_FRACTION) * reach_mm * (1 + sine)
    corners = np.flatnonzero(leaves & (needed_mm <= _LONGEST_STEPS * step_mm * sine))
    ways_mm = needed_mm[corners] / sine[corners]
    sides_mm = np.minimum(lengths_mm, np.roll(lengths_mm, -1))[corners] / 2
    shoulders_mm = np.minimum(_SHOULDER_FRACTION * ways_mm, sides_mm)[:, None]
    outwards = into[corners] - out[corners]
    outwards /= np.linalg.norm(outwards, axis=1)[:, None]
    at_mm = places_mm[corners]
    corners_mm = np.stack(
        [
            at_mm - shoulders_mm * into[corners],
            at_mm + ways_mm[:, None] * outwards,
            at_mm + shoulders_mm * out[corners],
        ],
        axis=1,
    )
    allowed = holds(corners_mm)
    return _led(ring, corners[allowed], corners_mm[allowed])


def _led(ring: Circuit, corners: NDArray[np.int64], corners_mm: Floats) -> ReachingRing:
    """Return the ring with three places in place of each corner."""
    pieces = list(ring.points_mm[:-1, None])
    for number, corner_mm in zip(corners.tolist(), corners_mm, strict=True):
        pieces[number] = corner_mm
    led_mm = np.concatenate(pieces)
    return ReachingRing(Circuit(np.vstack([led_mm, led_mm[:1]])), corners_mm)


def reached(rings: Sequence[ReachingRing], reach_mm: float) -> BaseGeometry:
    """Return what the pieces that lead into corners cover."""
    lines = [LineString(corner_mm) for ring in rings for corner_mm in ring.corners_mm]
    return shapely.union_all(shapely.buffer(lines, reach_mm))
