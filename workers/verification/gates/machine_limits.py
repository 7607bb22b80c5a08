"""What the machine can reach, and how fast it may go."""

from __future__ import annotations

import numpy as np

from workers.values.finding import Finding, Severity
from workers.values.machine import Machine
from workers.values.program import Motion
from workers.verification.evidence import Exhibit

_ROUNDING_MM = 0.01
_FEED_ROUNDING = 1.001


def envelope_findings(exhibit: Exhibit, machine: Machine) -> list[Finding]:
    """Return a finding for each axis on which a program needs more travel than there is."""
    trace = exhibit.trace
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
                    f"{exhibit.program.name}, line {trace.lines[far]}: {name} goes from {low_mm:.3f} to "
                    f"{high_mm:.3f} mm, {high_mm - low_mm:.3f} mm in all; "
                    f"{machine.title} travels {travel_mm:g} mm"
                ),
                remedy="choose a larger machine or a smaller board, or take the stray motion out",
                at_mm=(round(float(trace.ends_mm[far, 0]), 3), round(float(trace.ends_mm[far, 1]), 3)),
            )
        )
    return found


def feed_findings(exhibit: Exhibit, machine: Machine) -> list[Finding]:
    """Return a warning when a program asks for a faster feed than the machine has."""
    trace = exhibit.trace
    feeding = trace.motions == Motion.FEED
    if not feeding.any():
        return []
    fastest = int(np.argmax(np.where(feeding, trace.feeds_mm_per_min, 0.0)))
    feed = float(trace.feeds_mm_per_min[fastest])
    if feed <= machine.max_feed_mm_per_min * _FEED_ROUNDING:
        return []
    return [
        Finding(
            code="feed-above-machine",
            severity=Severity.WARNING,
            message=(
                f"{exhibit.program.name}, line {trace.lines[fastest]}: F {feed:.0f} mm/min; "
                f"{machine.title} feeds at most {machine.max_feed_mm_per_min:g} mm/min"
            ),
            remedy="lower the feed; the machine will hold its own limit, and the chips get thinner",
        )
    ]


def spindle_findings(exhibit: Exhibit, machine: Machine) -> list[Finding]:
    """Return findings for cutting with the spindle off, or at a speed that the spindle does not have."""
    trace = exhibit.trace
    cutting = (trace.motions == Motion.FEED) & (np.minimum(trace.starts_mm[:, 2], trace.ends_mm[:, 2]) < 0)
    still = np.flatnonzero(cutting & (trace.spindle_rpm == 0))
    found = []
    if len(still):
        first = int(still[0])
        found.append(
            Finding(
                code="spindle-off",
                severity=Severity.ERROR,
                message=(
                    f"{exhibit.program.name}, line {trace.lines[first]}: feeds below the face while the "
                    f"spindle stands, in {len(still)} motions"
                ),
                remedy="start the spindle with S and M3 before the first cut",
                at_mm=(round(float(trace.ends_mm[first, 0]), 3), round(float(trace.ends_mm[first, 1]), 3)),
            )
        )
    turning = np.flatnonzero(cutting & (trace.spindle_rpm > 0))
    speeds = trace.spindle_rpm[turning]
    outside = turning[(speeds < machine.min_spindle_rpm) | (speeds > machine.max_spindle_rpm)]
    if len(outside):
        first = int(outside[0])
        found.append(
            Finding(
                code="spindle-speed",
                severity=Severity.WARNING,
                message=(
                    f"{exhibit.program.name}, line {trace.lines[first]}: "
                    f"S {trace.spindle_rpm[first]:.0f} rpm; "
                    f"{machine.title} turns {machine.min_spindle_rpm:g} to {machine.max_spindle_rpm:g}"
                ),
                remedy="set S to a speed that the spindle has",
            )
        )
    return found
