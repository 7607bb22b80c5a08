"""Motions of limited jerk: acceleration rises and falls evenly, and is zero at both ends of each motion.

A change of speed by dv takes ``dv / a + a / j`` where the acceleration a is reached, else
``2 sqrt(dv / j)``; it is even about its middle, so its way is the mean of both speeds times that. Everything
else follows: the greatest speed that a way allows is the root of a quadratic or of a cubic, and the
peak of a motion the root of a sum that rises with it.

Source: standard kinematics; worked cases M-11 to M-15 in ``tests/reference/test_limited_jerk.py``.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

_HALVINGS = 60  # of the range of a peak: more than a float's digits
_LIKE_REST = 1e-12  # mm/s, an entry speed of nothing
_SAME = 1e-9  # speeds that differ by no more of themselves are one


@njit(cache=True)
def change_s(change: float, acceleration: float, jerk: float) -> float:
    """Return the seconds for a change of speed, mm/s, up or down."""
    change = abs(change)
    if change * jerk >= acceleration * acceleration:
        return change / acceleration + acceleration / jerk
    return 2.0 * math.sqrt(change / jerk)


@njit(cache=True)
def change_mm(one: float, other: float, acceleration: float, jerk: float) -> float:
    """Return the way on which one speed becomes another."""
    return (one + other) / 2 * change_s(other - one, acceleration, jerk)


@njit(cache=True)
def reach(entry: float, length_mm: float, acceleration: float, jerk: float) -> float:
    """Return the greatest speed that a way allows to get to from an entry speed, or to brake from to it.

    Args:
        entry: Speed at one end, mm/s.
        length_mm: Of the way.
        acceleration: Limit, mm/s2.
        jerk: Limit, mm/s3.
    """
    rise_s = acceleration / jerk
    if length_mm >= (2 * entry + acceleration * rise_s) * rise_s:
        linear = 2 * entry / acceleration + rise_s
        rest = 2 * entry * rise_s - 2 * length_mm
        return entry + (math.sqrt(linear * linear - 4 * rest / acceleration) - linear) * acceleration / 2
    way = length_mm * math.sqrt(jerk)  # = root^3 + 2 entry root, root^2 being the change
    if entry < _LIKE_REST:
        root = math.pow(way, 1 / 3)
    else:
        scale = math.sqrt(2 * entry / 3)
        root = 2 * scale * math.sinh(math.asinh(way / (2 * scale**3)) / 3)
    return entry + root * root


@njit(cache=True)
def s_curve_s(
    length_mm: float, speed: float, acceleration: float, jerk: float, entry: float, leave: float
) -> float:
    """Return the seconds for one motion: up from the entry speed, on, and down to the exit speed.

    Args:
        length_mm: Of the motion.
        speed: Limit, mm/s; no less than either end's.
        acceleration: Limit, mm/s2, both ways.
        jerk: Limit, mm/s3.
        entry: Speed at the start, mm/s; the exit speed can be reached from it.
        leave: Speed at the end, mm/s.
    """
    low, peak = max(entry, leave), speed
    if _ramps_mm(peak, acceleration, jerk, entry, leave) > length_mm:
        high = speed
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            if _ramps_mm(middle, acceleration, jerk, entry, leave) > length_mm:
                high = middle
            else:
                low = middle
        peak = low
    ramps_s = change_s(peak - entry, acceleration, jerk) + change_s(peak - leave, acceleration, jerk)
    level_mm = length_mm - _ramps_mm(peak, acceleration, jerk, entry, leave)
    return ramps_s + max(level_mm, 0.0) / peak


@njit(cache=True)
def _ramps_mm(peak: float, acceleration: float, jerk: float, entry: float, leave: float) -> float:
    return change_mm(entry, peak, acceleration, jerk) + change_mm(peak, leave, acceleration, jerk)


@njit(cache=True)
def planned_s(
    lengths_mm: NDArray[np.float64],
    speeds: NDArray[np.float64],
    accelerations: NDArray[np.float64],
    jerks: NDArray[np.float64],
    corners: NDArray[np.float64],
) -> float:
    """Return the seconds from rest to rest over all motions, looking ahead to the end.

    Motions at one speed with no corner between them that would slow it are one: a chain of chords is not
    run from stop of acceleration to stop of acceleration. The least of their limits holds for all of them.

    Args:
        lengths_mm: (n,) above zero.
        speeds: (n,) limits, mm/s.
        accelerations: (n,) mm/s2, both ways.
        jerks: (n,) mm/s3.
        corners: (n - 1,) greatest speed from each motion to the next, mm/s.
    """
    runs = np.zeros((len(lengths_mm), 5))  # length, speed, acceleration, jerk, greatest speed at its start
    count = -1
    for index in range(len(lengths_mm)):
        speed = speeds[index]
        corner = min(corners[index - 1], speed) if index else 0.0
        if index and corner >= speed * (1 - _SAME) and abs(speeds[index - 1] - speed) <= speed * _SAME:
            runs[count, 0] += lengths_mm[index]
            runs[count, 2] = min(runs[count, 2], accelerations[index])
            runs[count, 3] = min(runs[count, 3], jerks[index])
            continue
        count += 1
        runs[count, 0], runs[count, 1] = lengths_mm[index], speed
        runs[count, 2], runs[count, 3] = accelerations[index], jerks[index]
        runs[count, 4] = min(corner, speeds[index - 1]) if index else 0.0
    return _runs_s(runs[: count + 1])


@njit(cache=True)
def _runs_s(runs: NDArray[np.float64]) -> float:
    count = len(runs)
    entries = np.zeros(count + 1)  # the last is the stop at the end
    for index in range(count - 1, 0, -1):
        braked = reach(entries[index + 1], runs[index, 0], runs[index, 2], runs[index, 3])
        entries[index] = min(runs[index, 4], braked)
    total_s = 0.0
    for index in range(count):
        length_mm, speed, acceleration, jerk = runs[index, 0], runs[index, 1], runs[index, 2], runs[index, 3]
        entries[index + 1] = min(entries[index + 1], reach(entries[index], length_mm, acceleration, jerk))
        total_s += s_curve_s(length_mm, speed, acceleration, jerk, entries[index], entries[index + 1])
    return total_s
