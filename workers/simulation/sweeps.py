"""Motions made ready for the kernel: the part below the face, turned downwards, and its reach."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.simulation import kernels
from workers.values.cutter import BallNose, Cutter, VeeCutter
from workers.values.program import Trace

_STILL_MM = 1e-9  # a shorter way across is a plunge
_NEARLY = 1 - 1e-9  # a slope so close to the flank's counts as steeper: the tip's end cuts deepest


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sweeps:
    """What one bit sweeps below the face; arrays of one length n."""

    motions: NDArray[np.float64]  # (n, kernels.COLUMNS)
    forms: NDArray[np.uint8]
    sources: NDArray[np.int32]  # which motion of the trace each comes from
    shape: NDArray[np.float32]  # radius, radius of the flat tip, flank


def sweeps_below_face(trace: Trace, cutter: Cutter) -> Sweeps:
    """Return what of the motions lies below the face; traverses cut as well as feeds.

    Args:
        trace: Motions of the tip's centre.
        cutter: The bit; a drill counts as a flat-ended cylinder.
    """
    below = np.flatnonzero(np.minimum(trace.starts_mm[:, 2], trace.ends_mm[:, 2]) < 0)
    high, low = _downwards(trace.starts_mm[below], trace.ends_mm[below])
    across = low[:, :2] - high[:, :2]
    length = np.hypot(across[:, 0], across[:, 1])
    still = length < _STILL_MM
    length[still] = 0.0
    safe_length = np.where(still, 1.0, length)
    table = np.zeros((len(below), kernels.COLUMNS))
    table[:, kernels.X : kernels.Y + 1] = high[:, :2]
    table[:, kernels.ALONG_X : kernels.ALONG_Y + 1] = across / safe_length[:, np.newaxis]
    table[:, kernels.ALONG_X][still] = 1.0
    table[:, kernels.LENGTH] = length
    table[:, kernels.START_DEPTH] = np.where(still, -low[:, 2], -high[:, 2])
    table[:, kernels.GAIN] = np.where(still, 0.0, (high[:, 2] - low[:, 2]) / safe_length)
    shape = _shape_of(cutter)
    forms = _fill_form(table, cutter, shape)
    return Sweeps(motions=table, forms=forms, sources=below.astype(np.int32), shape=shape.astype(np.float32))


def _downwards(
    starts: NDArray[np.float64], ends: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the upper ends, clipped to the face, and the lower ends."""
    rises = (starts[:, 2] < ends[:, 2])[:, np.newaxis]
    high, low = np.where(rises, ends, starts), np.where(rises, starts, ends)
    above = high[:, 2] > 0
    share = np.zeros(len(high))
    share[above] = high[above, 2] / (high[above, 2] - low[above, 2])
    clipped = high + (low - high) * share[:, np.newaxis]
    clipped[above, 2] = 0.0
    return clipped, low


def _shape_of(cutter: Cutter) -> NDArray[np.float64]:
    radius_mm = cutter.diameter_mm / 2
    if isinstance(cutter, VeeCutter):
        flank = 1 / math.tan(math.radians(cutter.included_angle_deg) / 2)
        return np.array([radius_mm, cutter.tip_mm / 2, flank])
    return np.array([radius_mm, radius_mm, 0.0])


def _fill_form(table: NDArray[np.float64], cutter: Cutter, shape: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Set reach and lean of each motion and return its form."""
    radius = shape[0]
    end_depth = table[:, kernels.START_DEPTH] + table[:, kernels.GAIN] * table[:, kernels.LENGTH]
    if isinstance(cutter, VeeCutter):
        return _fill_cone(table, end_depth, shape)
    forms = np.full(len(table), kernels.FLAT, np.uint8)
    reach = np.full(len(table), radius)
    if isinstance(cutter, BallNose):
        forms[:] = np.where(end_depth > radius, kernels.DEEP_BALL, kernels.BALL)
        reach = np.sqrt(radius**2 - np.maximum(radius - end_depth, 0.0) ** 2)
        table[:, kernels.LEAN] = table[:, kernels.GAIN] / np.hypot(1.0, table[:, kernels.GAIN])
    table[:, kernels.START_REACH] = table[:, kernels.END_REACH] = reach
    return forms


def _fill_cone(
    table: NDArray[np.float64], end_depth: NDArray[np.float64], shape: NDArray[np.float64]
) -> NDArray[np.uint8]:
    radius, tip, flank = shape
    gain = table[:, kernels.GAIN]
    end_reach = tip + end_depth / flank
    deep = end_reach > radius
    steep = gain >= flank * _NEARLY
    _make_plunge(table, steep & ~deep, end_depth)
    gain = table[:, kernels.GAIN]
    rest = np.where(steep, 1.0, flank**2 - np.where(steep, 0.0, gain) ** 2)
    table[:, kernels.LEAN] = np.where(steep, 0.0, gain / np.sqrt(rest))
    table[:, kernels.BIAS] = np.where(steep & deep, table[:, kernels.LENGTH] + 2 * radius, 0.0)
    start_reach = tip + table[:, kernels.START_DEPTH] / flank
    table[:, kernels.START_REACH] = np.where(deep, radius, start_reach)
    table[:, kernels.END_REACH] = np.where(deep, radius, end_reach)
    shallow = kernels.CONE if tip > 0 else kernels.SHARP
    return np.where(deep, kernels.DEEP_CONE, shallow).astype(np.uint8)


def _make_plunge(
    table: NDArray[np.float64], which: NDArray[np.bool_], end_depth: NDArray[np.float64]
) -> None:
    """A motion steeper than the flank cuts what a plunge at its low end cuts."""
    moved = table[which]
    moved[:, kernels.X] += moved[:, kernels.LENGTH] * moved[:, kernels.ALONG_X]
    moved[:, kernels.Y] += moved[:, kernels.LENGTH] * moved[:, kernels.ALONG_Y]
    moved[:, kernels.LENGTH] = moved[:, kernels.GAIN] = 0.0
    moved[:, kernels.START_DEPTH] = end_depth[which]
    table[which] = moved
