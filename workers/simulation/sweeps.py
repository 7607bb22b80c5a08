"""Motions made ready for the kernel: the part below the face, turned downwards, and its reach."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from workers.simulation import kernels
from workers.values.cutter import BallNose, Cutter, EndMill, VeeCutter
from workers.values.program import Trace

_STILL_MM = 1e-9  # a shorter way across is a plunge
_STEEP = 1.0  # more down than across: the edges have cut the hole before what is over them comes
_NEARLY = 1 - 1e-9  # a slope so close to the flank's counts as steeper: the tip's end cuts deepest


class Collar(NamedTuple):
    """A round part over a bit's edges, from a height over its tip upwards; or of the edges themselves."""

    over_tip_mm: float
    radius_mm: float
    cuts: bool = False  # part of the edges: it meets the wood also straight down, before they have cut it


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sweeps:
    """What one bit sweeps below the face; arrays of one length n."""

    motions: NDArray[np.float64]  # (n, kernels.COLUMNS)
    forms: NDArray[np.uint8]
    sources: NDArray[np.int32]  # which motion of the trace each comes from
    parts: NDArray[np.int32]  # 0 the edges, from 1 on the collars
    shape: NDArray[np.float32]  # radius, radius of the flat tip, flank


def sweeps_below_face(trace: Trace, cutter: Cutter) -> Sweeps:
    """Return what of the motions lies below the face; traverses cut as well as feeds.

    Args:
        trace: Motions of the tip's centre.
        cutter: The bit; a drill counts as a flat-ended cylinder, a keyhole bit as one of its head.
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
    return Sweeps(
        motions=table,
        forms=forms,
        sources=below.astype(np.int32),
        parts=np.zeros(len(below), np.int32),
        shape=shape.astype(np.float32),
    )


def with_collars(edges: Sweeps, trace: Trace, collars: Sequence[Collar]) -> Sweeps:
    """Return what the edges sweep, with the collars that come below the face put in at their time.

    A collar meets the stock as it is before its motion: on the way across, the wood ahead stands until the
    edges are there, and then only as high as they are long. Straight down, the edges come first.

    Args:
        edges: What the bit sweeps.
        trace: The same motions.
        collars: What is over its edges.
    """
    parts = [edges]
    for number, collar in enumerate(collars, 1):
        if trace.lowest_mm.min(initial=0.0) + collar.over_tip_mm >= 0:
            continue
        lift_mm = np.array([0.0, 0.0, collar.over_tip_mm])
        raised = replace(trace, starts_mm=trace.starts_mm + lift_mm, ends_mm=trace.ends_mm + lift_mm)
        disc = EndMill(
            name="", diameter_mm=2 * collar.radius_mm, cutting_length_mm=math.inf, flutes_count=1, shank_mm=1
        )
        swept = sweeps_below_face(raised, disc)
        swept.motions[:, kernels.BIAS] = collar.radius_mm
        swept.forms[:] = kernels.COLLAR
        swept.parts[:] = number
        parts.append(swept)
    if len(parts) == 1:
        return edges
    sources, numbers = (
        np.concatenate([getattr(part, name) for part in parts]) for name in ("sources", "parts")
    )
    steps_mm = trace.ends_mm - trace.starts_mm
    steep = -steps_mm[:, 2] > _STEEP * np.hypot(steps_mm[:, 0], steps_mm[:, 1])
    cutting = np.array([False, *(collar.cuts for collar in collars)])
    turns = np.where(numbers == 0, 1, np.where(steep[sources] & ~cutting[numbers], 2, 0))
    order = np.lexsort((turns, sources))
    return Sweeps(
        motions=np.concatenate([part.motions for part in parts])[order],
        forms=np.concatenate([part.forms for part in parts])[order],
        sources=sources[order],
        parts=numbers[order],
        shape=edges.shape,
    )


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
