"""How long a program takes: trapezoids of speed, corners slowed by junction deviation.

Speeds are planned over the whole program: backwards so that every corner can be braked
for, then forwards from rest. A machine that states a limit of jerk has its trapezoids rounded
(``limited_jerk.py``).

Source: standard kinematics of uniform acceleration; junction deviation as published by
S. K. Jeon (2011), checked by geometry in ``tests/reference``.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.simulation import limited_jerk
from workers.values.machine import Machine
from workers.values.program import Motion, Trace

_SHORTEST_MM = 1e-9


def duration_s(trace: Trace, machine: Machine) -> float:
    """Return the seconds a machine needs for all motions and dwells of a program.

    Args:
        trace: The motions.
        machine: Its speeds, acceleration, jerk if it is limited, and how far it rounds corners.
    """
    steps = trace.ends_mm - trace.starts_mm
    lengths = np.sqrt((steps * steps).sum(axis=1))
    moving = lengths > _SHORTEST_MM
    if not moving.any():
        return trace.dwell_s
    lengths = lengths[moving]
    directions = steps[moving] / lengths[:, np.newaxis]
    speeds = _speeds_mm_per_s(trace, machine, moving, directions)
    steepest = np.abs(directions).max(axis=1)  # an axis's own limit is the path's where it goes alone
    accelerations = machine.acceleration_mm_per_s2 / steepest
    corners = corner_speeds_mm_per_s(
        directions, lengths, machine.acceleration_mm_per_s2, machine.junction_deviation_mm
    )
    if machine.jerk_mm_per_s3 is not None:
        jerks = machine.jerk_mm_per_s3 / steepest
        return trace.dwell_s + limited_jerk.planned_s(lengths, speeds, accelerations, jerks, corners)
    return trace.dwell_s + planned_s(lengths, speeds, accelerations, corners)


def _speeds_mm_per_s(
    trace: Trace, machine: Machine, moving: NDArray[np.bool_], directions: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The commanded speed, lowered until no axis goes faster than it can."""
    traverse = trace.motions[moving] == Motion.TRAVERSE
    flat = np.where(traverse, machine.traverse_mm_per_min, machine.max_feed_mm_per_min)
    upright = np.where(traverse, machine.traverse_z_mm_per_min, machine.max_plunge_mm_per_min)
    limits = np.stack([flat, flat, upright], axis=1)
    with np.errstate(divide="ignore"):
        fastest = (limits / np.abs(directions)).min(axis=1)
    commanded = np.where(traverse, np.inf, trace.feeds_mm_per_min[moving])
    return np.asarray(np.minimum(commanded, fastest) / 60)


def corner_speeds_mm_per_s(
    directions: NDArray[np.float64],
    lengths_mm: NDArray[np.float64],
    acceleration_mm_per_s2: float,
    deviation_mm: float,
) -> NDArray[np.float64]:
    """Return the greatest speed through the corner after each motion but the last, infinite straight on.

    A circle touches both motions and passes the corner at the deviation; its radius is
    ``deviation s / (1 - s)`` with s the sine of half the angle between them. It may take no more than half
    of the shorter motion, ``radius cos / sin`` of that half angle: through the chords of an arc a machine
    goes no faster than round the arc itself.

    Args:
        directions: (n, 3) unit vectors of the motions.
        lengths_mm: (n,) of the motions.
        acceleration_mm_per_s2: Towards the circle's centre.
        deviation_mm: From the corner.
    """
    cosine = -(directions[:-1] * directions[1:]).sum(axis=1)  # of the angle between them
    sine = np.sqrt(np.clip((1 - cosine) / 2, 0.0, 1.0))
    half_mm = np.minimum(lengths_mm[:-1], lengths_mm[1:]) / 2
    with np.errstate(divide="ignore"):
        radius_mm = np.where(sine < 1, deviation_mm * sine / (1 - sine), np.inf)
        widest_mm = np.where(sine < 1, half_mm * sine / np.sqrt(1 - sine * sine), np.inf)
    return np.sqrt(acceleration_mm_per_s2 * np.minimum(radius_mm, widest_mm))


@njit(cache=True)
def trapezoid_s(
    length_mm: float, speed: float, speed_up: float, slow_down: float, entry: float, leave: float
) -> float:
    """Return the seconds for one motion: up from the entry speed, on, and down to the exit speed.

    Args:
        length_mm: Of the motion.
        speed: Limit, mm/s.
        speed_up: Acceleration, mm/s2.
        slow_down: Deceleration, mm/s2.
        entry: Speed at the start, mm/s; the exit speed can be reached from it.
        leave: Speed at the end, mm/s.
    """
    peak = math.sqrt(
        (2 * speed_up * slow_down * length_mm + slow_down * entry**2 + speed_up * leave**2)
        / (speed_up + slow_down)
    )
    if peak <= speed:
        return (peak - entry) / speed_up + (peak - leave) / slow_down
    ramps_mm = (speed**2 - entry**2) / (2 * speed_up) + (speed**2 - leave**2) / (2 * slow_down)
    return (speed - entry) / speed_up + (speed - leave) / slow_down + (length_mm - ramps_mm) / speed


@njit(cache=True)
def planned_s(
    lengths_mm: NDArray[np.float64],
    speeds: NDArray[np.float64],
    accelerations: NDArray[np.float64],
    corners: NDArray[np.float64],
) -> float:
    """Return the seconds from rest to rest over all motions, looking ahead to the end.

    Args:
        lengths_mm: (n,) above zero.
        speeds: (n,) limits, mm/s.
        accelerations: (n,) mm/s2, both ways.
        corners: (n - 1,) greatest speed from each motion to the next, mm/s.
    """
    count = len(lengths_mm)
    entries = np.zeros(count + 1)  # the last is the stop at the end
    for index in range(count - 1, 0, -1):
        reach = math.sqrt(entries[index + 1] ** 2 + 2 * accelerations[index] * lengths_mm[index])
        entries[index] = min(min(corners[index - 1], speeds[index - 1]), min(speeds[index], reach))
    total_s = 0.0
    for index in range(count):
        reach = math.sqrt(entries[index] ** 2 + 2 * accelerations[index] * lengths_mm[index])
        entries[index + 1] = min(entries[index + 1], reach)
        total_s += trapezoid_s(
            lengths_mm[index],
            speeds[index],
            accelerations[index],
            accelerations[index],
            entries[index],
            entries[index + 1],
        )
    return total_s
