"""What the upper edge of a T-shaped head sweeps: where it is highest, and where it is lifted into wood."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from workers.simulation import kernels
from workers.simulation.sweeps import Sweeps, sweeps_below_face
from workers.values.cutter import EndMill, KeyholeCutter
from workers.values.program import Trace


def swept_upwards(trace: Trace, cutter: KeyholeCutter, room_mm: float) -> Sweeps:
    """Return the sweeps that keep, as depths below 0, how high the head's upper edge has been in each cell.

    The kernel keeps the greatest of all values; a depth with its sign turned is greatest where it is least.
    What of a motion is so shallow that the head stands out of the face counts as 0: open from above.
    Before each motion that rises under wood the same disc is put in as a collar, a little smaller: it cuts
    nothing, and tells by how much the motion lifts the head over all places where one has been.

    Args:
        trace: Motions of the tip's centre.
        cutter: Its head.
        room_mm: By which the collar is smaller.
    """
    disc = EndMill(
        name="", diameter_mm=cutter.diameter_mm, cutting_length_mm=math.inf, flutes_count=1, shank_mm=1
    )
    lift_mm = np.array([0.0, 0.0, cutter.head_mm])
    raised = replace(trace, starts_mm=trace.starts_mm + lift_mm, ends_mm=trace.ends_mm + lift_mm)
    under = _turned_up(sweeps_below_face(raised, disc), raised)
    emerged = sweeps_below_face(_shallower_than(trace, cutter.head_mm), disc)
    emerged.motions[:, [kernels.START_DEPTH, kernels.GAIN]] = 0.0
    rises = raised.ends_mm[under.sources, 2] > raised.starts_mm[under.sources, 2]
    collars = under.motions[rises].copy()
    collars[:, [kernels.BIAS, kernels.START_REACH, kernels.END_REACH]] = cutter.diameter_mm / 2 - room_mm
    sources = np.concatenate([under.sources[rises], emerged.sources, under.sources])
    turns = np.repeat([0, 1, 2], [len(collars), len(emerged.sources), len(under.sources)])
    order = np.lexsort((turns, sources))
    return Sweeps(
        motions=np.concatenate([collars, emerged.motions, under.motions])[order],
        forms=np.where(turns == 0, kernels.COLLAR, kernels.FLAT).astype(np.uint8)[order],
        sources=sources[order],
        parts=(turns == 0).astype(np.int32)[order],
        shape=under.shape,
    )


def _turned_up(swept: Sweeps, trace: Trace) -> Sweeps:
    """Return the same sweeps, each from its lower end to its upper one, depths with their signs turned."""
    table = swept.motions.copy()
    length_mm, way = table[:, [kernels.LENGTH]], table[:, kernels.ALONG_X : kernels.ALONG_Y + 1].copy()
    lowest_mm = table[:, kernels.START_DEPTH] + table[:, kernels.GAIN] * table[:, kernels.LENGTH]
    highest_mm = np.maximum(-np.maximum(trace.starts_mm, trace.ends_mm)[swept.sources, 2], 0.0)
    table[:, kernels.X : kernels.Y + 1] += length_mm * way
    table[:, kernels.ALONG_X : kernels.ALONG_Y + 1] = -way
    table[:, kernels.START_DEPTH] = -np.where(table[:, kernels.LENGTH] > 0, lowest_mm, highest_mm)
    return replace(swept, motions=table)


def _shallower_than(trace: Trace, depth_mm: float) -> Trace:
    """Return the motions as far as they are no deeper; those deeper all along are put on the face."""
    starts_mm, ends_mm = trace.starts_mm.copy(), trace.ends_mm.copy()
    for near_mm, far_mm in ((starts_mm, ends_mm), (ends_mm, starts_mm)):
        deep = (near_mm[:, 2] < -depth_mm) & (far_mm[:, 2] >= -depth_mm)
        share = np.zeros(len(deep))
        share[deep] = (-depth_mm - near_mm[deep, 2]) / (far_mm[deep, 2] - near_mm[deep, 2])
        near_mm += share[:, np.newaxis] * (far_mm - near_mm)
    under: NDArray[np.bool_] = np.maximum(starts_mm[:, 2], ends_mm[:, 2]) < -depth_mm
    starts_mm[under, 2] = ends_mm[under, 2] = 0.0
    return replace(trace, starts_mm=starts_mm, ends_mm=ends_mm)
