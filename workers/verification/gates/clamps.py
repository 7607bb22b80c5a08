"""Through a clamp: any motion, at any speed, that takes the bit into a keep-out zone."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from workers.values.cutter import Cutter, VeeCutter
from workers.values.finding import Finding, Severity
from workers.values.keep_out import KeepOut
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.over_edges import Part, parts_over

Floats = NDArray[np.float64]

_ROUNDING_MM = 0.002  # of places in a program
_THIRDS = 60  # each leaves two thirds of a motion: 100 mm come to less than a millionth


def clamp_findings(exhibit: Exhibit, circumstances: Circumstances) -> list[Finding]:
    """Return a finding for each zone that the bit runs into, with the first line that does."""
    found = []
    for number, zone in enumerate(circumstances.keep_outs, 1):
        hits = np.flatnonzero(entering(exhibit, zone))
        if len(hits):
            found.append(_finding(exhibit, number, zone, hits))
            continue
        for part in parts_over(exhibit.cutter, circumstances.machine):
            hits = np.flatnonzero(entering(exhibit, zone, part))
            if len(hits):
                found.append(_finding(exhibit, number, zone, hits, part))
                break
    return found


def _finding(
    exhibit: Exhibit, number: int, zone: KeepOut, hits: NDArray[np.intp], part: Part | None = None
) -> Finding:
    first = int(hits[0])
    others = f", and {len(hits) - 1} more such motions" if len(hits) > 1 else ""
    what, farther = (
        (f" {exhibit.cutter.name} with its {part}", ", or let the bit stand out farther")
        if part
        else ("", "")
    )
    return Finding(
        code="through-clamp",
        severity=Severity.ERROR,
        message=(
            f"{exhibit.line_of(first)}:{what} runs into keep-out zone {number}, "
            f"{zone.height_mm:g} mm high{others}"
        ),
        remedy=f"lift the bit over the clamp, or move the clamp and its zone{farther}",
        at_mm=exhibit.end_of(first),
    )


def entering(exhibit: Exhibit, zone: KeepOut, part: Part | None = None) -> NDArray[np.bool_]:
    """Return which motions bring the bit's edge, or a part over its edges, into the zone below its top.

    Each is looked at only where it is below that. Its distance to the block is convex along
    the way, so thirds that are farther off can be left out until the least is found.
    """
    trace = exhibit.trace
    over_tip_mm = part.over_tip_mm if part else 0.0
    starts_mm, ends_mm = _below(trace.starts_mm, trace.ends_mm, zone.height_mm - over_tip_mm - _ROUNDING_MM)
    tips_mm = np.minimum(starts_mm[:, 2], ends_mm[:, 2])
    widest_mm = (
        np.full(len(tips_mm), part.diameter_mm / 2)
        if part
        else _widest_mm(exhibit.cutter, zone.height_mm - tips_mm)
    )
    reach_mm = widest_mm - _ROUNDING_MM
    lowest_mm = np.minimum(starts_mm, ends_mm)[:, :2] - reach_mm[:, None]
    highest_mm = np.maximum(starts_mm, ends_mm)[:, :2] + reach_mm[:, None]
    short_of = (lowest_mm < [zone.right_mm, zone.top_mm]).all(axis=1)
    near = np.asarray(short_of & (highest_mm > [zone.left_mm, zone.bottom_mm]).all(axis=1))
    near[near] = _least_distances_mm(starts_mm[near, :2], ends_mm[near, :2], zone) < reach_mm[near]
    return near


def _widest_mm(cutter: Cutter, over_tip_mm: Floats) -> Floats:
    """Return the bit's radius at heights over its tip; not a number for those that are none."""
    if not isinstance(cutter, VeeCutter):
        return np.full(len(over_tip_mm), cutter.diameter_mm / 2)
    opening_mm = over_tip_mm * math.tan(math.radians(cutter.included_angle_deg) / 2)
    return np.minimum(cutter.tip_mm / 2 + opening_mm, cutter.diameter_mm / 2)


def _below(starts_mm: Floats, ends_mm: Floats, top_mm: float) -> tuple[Floats, Floats]:
    """Return each motion as far as it is below a height; not a number where it is all above."""
    rises_mm = ends_mm[:, 2] - starts_mm[:, 2]
    level = rises_mm == 0
    crossings = np.clip((top_mm - starts_mm[:, 2]) / np.where(level, 1.0, rises_mm), 0.0, 1.0)
    first = np.where(rises_mm < 0, crossings, 0.0)[:, None]
    last = np.where(rises_mm > 0, crossings, 1.0)[:, None]
    steps_mm = ends_mm - starts_mm
    cut_starts_mm, cut_ends_mm = starts_mm + first * steps_mm, starts_mm + last * steps_mm
    above = np.minimum(starts_mm[:, 2], ends_mm[:, 2]) >= top_mm
    cut_starts_mm[above] = cut_ends_mm[above] = np.nan
    return cut_starts_mm, cut_ends_mm


def _least_distances_mm(starts_mm: Floats, ends_mm: Floats, zone: KeepOut) -> Floats:
    """Return the least distance between each piece (n, 2) and the zone in plan."""
    low, high = np.array([zone.left_mm, zone.bottom_mm]), np.array([zone.right_mm, zone.top_mm])

    def distances_mm(shares: Floats) -> Floats:
        places_mm = starts_mm + shares[:, None] * (ends_mm - starts_mm)
        outside_mm = np.maximum(np.maximum(low - places_mm, places_mm - high), 0.0)
        return np.asarray(np.hypot(outside_mm[:, 0], outside_mm[:, 1]))

    first, last = np.zeros(len(starts_mm)), np.ones(len(starts_mm))
    for _ in range(_THIRDS):
        third, two_thirds = first + (last - first) / 3, last - (last - first) / 3
        falls = distances_mm(third) > distances_mm(two_thirds)
        first, last = np.where(falls, third, first), np.where(falls, last, two_thirds)
    return distances_mm((first + last) / 2)
