"""Drills that go deeper in one stroke than their chips find a way out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workers.cutting_data.feeds import peck_depth_mm
from workers.values.cutter import Drill
from workers.values.finding import Finding, Severity
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.tolerances import DEPTH_ROUNDING_MM

_SAME_HOLE_MM = 0.05


def peck_findings(exhibit: Exhibit, circumstances: Circumstances) -> list[Finding]:
    """Return a finding when a drill goes down by more than its peck before it is lifted out of the hole.

    An order's own peck is a promise, so more than that is an error; without an order the trade's rule is
    advice, and more than that a warning.
    """
    cutter, order = exhibit.cutter, circumstances.drill
    if not isinstance(cutter, Drill):
        return []
    allowed_mm = (order.peck_mm if order else None) or peck_depth_mm(cutter)
    gained_mm, ends = _gains_mm(exhibit)
    deep = np.flatnonzero(gained_mm > allowed_mm + DEPTH_ROUNDING_MM)
    if not len(deep):
        return []
    worst = deep[np.argmax(gained_mm[deep])]
    others = f", and {len(deep) - 1} more such strokes" if len(deep) > 1 else ""
    return [
        Finding(
            code="peck-too-deep",
            severity=Severity.ERROR if order else Severity.WARNING,
            message=(
                f"{exhibit.line_of(ends[worst])}: {cutter.name} drills "
                f"{gained_mm[worst]:.3f} mm in one stroke, {allowed_mm:g} mm is its peck{others}"
            ),
            remedy="lift the drill out of the hole after each peck; chips that stay in burn the wood",
            at_mm=exhibit.end_of(ends[worst]),
        )
    ]


def _gains_mm(exhibit: Exhibit) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """How much deeper each stroke makes its hole, and which motion ends it at the bottom.

    A stroke lasts from one lift out of the board to the next, at one place.
    """
    ends_mm = exhibit.trace.ends_mm
    below = np.flatnonzero(ends_mm[:, 2] < -DEPTH_ROUNDING_MM)
    if not len(below):
        return np.zeros(0), below
    places = np.round(ends_mm[below, :2] / _SAME_HOLE_MM).astype(np.int64)
    lifted = np.cumsum(ends_mm[:, 2] >= -DEPTH_ROUNDING_MM)[below]
    fresh = np.any(np.diff(np.column_stack([places, lifted]), axis=0) != 0, axis=1)
    firsts = np.concatenate(([0], np.flatnonzero(fresh) + 1))
    gained_mm, bottoms = np.zeros(len(firsts)), np.zeros(len(firsts), np.intp)
    reached_mm: dict[tuple[int, int], float] = {}
    for stroke, (first, last) in enumerate(zip(firsts, [*firsts[1:], len(below)], strict=True)):
        bottoms[stroke] = below[first + int(np.argmin(ends_mm[below[first:last], 2]))]
        hole = (int(places[first, 0]), int(places[first, 1]))
        depth_mm = -float(ends_mm[bottoms[stroke], 2])
        before_mm = reached_mm.get(hole, 0.0)
        gained_mm[stroke] = max(depth_mm - before_mm, 0.0)
        reached_mm[hole] = max(depth_mm, before_mm)
    return gained_mm, bottoms
