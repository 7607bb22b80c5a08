"""What the machine can reach, and how fast it may go."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workers.cutting_data.feeds import spindle_limit_rpm
from workers.values.finding import Finding, Severity
from workers.values.machine import Machine
from workers.values.program import Motion
from workers.verification.evidence import Exhibit
from workers.verification.stretches import Reading

_ROUNDING_MM = 0.01
_FEED_ROUNDING = 1.005  # of feeds in a program
_PLACE_ROUNDING_MM = 0.003  # of places, four decimals of an inch at either end: short slopes look steeper


def envelope_findings(reading: Reading, machine: Machine) -> list[Finding]:
    """Return a finding for each axis on which a program needs more travel than there is."""
    trace = reading.trace
    if not len(trace.lines):
        return []
    points_mm = np.concatenate([trace.starts_mm, trace.ends_mm])
    travels_mm = (machine.travel_x_mm, machine.travel_y_mm, machine.travel_z_mm)
    found = []
    for axis, travel_mm in enumerate(travels_mm):
        low_mm, high_mm = float(points_mm[:, axis].min()), float(points_mm[:, axis].max())
        if high_mm - low_mm <= travel_mm + _ROUNDING_MM:
            continue
        far = int(np.argmax(np.abs(trace.ends_mm[:, axis])))
        name = "XYZ"[axis]
        found.append(
            Finding(
                code="outside-envelope",
                severity=Severity.ERROR,
                message=(
                    f"{reading.line_of(far)}: {name} goes from {low_mm:.3f} to "
                    f"{high_mm:.3f} mm, {high_mm - low_mm:.3f} mm in all; "
                    f"{machine.title} travels {travel_mm:g} mm"
                ),
                remedy="choose a larger machine or a smaller board, or take the stray motion out",
                at_mm=reading.end_of(far),
            )
        )
    return found


def feed_findings(exhibit: Exhibit, machine: Machine) -> list[Finding]:
    """Return findings for feeds faster than the machine's, along the path or straight down."""
    trace = exhibit.trace
    steps_mm = trace.ends_mm - trace.starts_mm
    lengths_mm = np.sqrt((steps_mm * steps_mm).sum(axis=1))
    fallen_mm = np.maximum(-steps_mm[:, 2] - _PLACE_ROUNDING_MM, 0.0)
    falls = np.divide(fallen_mm, lengths_mm, out=np.zeros_like(lengths_mm), where=lengths_mm > 0)
    feeds = np.where(trace.motions == Motion.FEED, trace.feeds_mm_per_min, 0.0)
    limits = (
        (
            "feed-above-machine",
            feeds,
            machine.max_feed_mm_per_min,
            "feeds at most",
            "lower the feed; what the machine does with more than it can is its maker's secret",
        ),
        (
            "plunge-above-machine",
            feeds * falls,
            machine.max_plunge_mm_per_min,
            "goes down at most",
            "lower the feed of what goes down, or go down along a longer ramp",
        ),
    )
    return [
        _too_fast(exhibit, code, speeds, f"{machine.title} {verb} {limit:g} mm/min", remedy)
        for code, speeds, limit, verb, remedy in limits
        if len(speeds) and speeds.max() > limit * _FEED_ROUNDING
    ]


def _too_fast(exhibit: Exhibit, code: str, speeds: NDArray[np.float64], limit: str, remedy: str) -> Finding:
    fastest = int(np.argmax(speeds))
    return Finding(
        code=code,
        severity=Severity.ERROR,
        message=(f"{exhibit.line_of(fastest)}: {speeds[fastest]:.0f} mm/min; {limit}"),
        remedy=remedy,
        at_mm=exhibit.end_of(fastest),
    )


def spindle_findings(exhibit: Exhibit, machine: Machine) -> list[Finding]:
    """Return findings for cutting with the spindle off, or at a speed that spindle or bit do not bear."""
    trace = exhibit.trace
    cutting = (trace.motions == Motion.FEED) & (trace.lowest_mm < 0)
    still = np.flatnonzero(cutting & (trace.spindle_rpm == 0))
    found = []
    if len(still):
        first = int(still[0])
        found.append(
            Finding(
                code="spindle-off",
                severity=Severity.ERROR,
                message=(
                    f"{exhibit.line_of(first)}: feeds below the face while the "
                    f"spindle stands, in {len(still)} motions"
                ),
                remedy="start the spindle with S and M3 before the first cut",
                at_mm=exhibit.end_of(first),
            )
        )
    turning = np.flatnonzero(cutting & (trace.spindle_rpm > 0))
    speeds = trace.spindle_rpm[turning]
    name, highest_rpm = exhibit.cutter.name, spindle_limit_rpm(exhibit.cutter.diameter_mm)
    outside = turning[(speeds < machine.min_spindle_rpm) | (speeds > machine.max_spindle_rpm)]
    own = f"{machine.title} turns {machine.min_spindle_rpm:g} to {machine.max_spindle_rpm:g}"
    if len(outside):
        found.append(_speed_finding(exhibit, machine, "spindle-speed", int(outside[0]), own))
    too_fast = turning[speeds > highest_rpm]
    if len(too_fast):
        borne = f"a bit as wide as {name} bears {highest_rpm:.0f}"
        found.append(_speed_finding(exhibit, machine, "bit-too-fast", int(too_fast[0]), borne))
    return found


def _speed_finding(exhibit: Exhibit, machine: Machine, code: str, place: int, limit: str) -> Finding:
    rpm = exhibit.trace.spindle_rpm[place]
    return Finding(
        code=code,
        severity=Severity.ERROR if machine.spindle_commanded else Severity.WARNING,
        message=f"{exhibit.line_of(place)}: S {rpm:.0f} rpm; {limit}",
        remedy="set S to a speed that both the spindle and the bit's maker allow",
    )
