"""What each tooth takes: feed, speed and flutes against the tables for the bit and the material."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workers.cutting_data.feeds import chip_range_mm
from workers.values.cutter import Drill
from workers.values.finding import Finding, Severity
from workers.values.machine import Machine
from workers.values.program import Motion
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.tolerances import DEPTH_ROUNDING_MM

Floats = NDArray[np.float64]

_ROUNDING = 1.05  # of feeds and speeds, as fine as anybody sets them
_FAR_ABOVE = 2.0  # the highest figure published anywhere is 1.6 times the tables' (trade.md 2.2): bits break
_FAR_BELOW = (
    5.0  # published figures spread by five; less is as thin as an edge is sharp, 5 micrometres (memory)
)
_FULL_SHARE = 0.05  # of the way cut: the fastest twentieth is run at the program's own feed
_STEEP = 1.0  # more down than across is a plunge


def chip_findings(exhibit: Exhibit, circumstances: Circumstances) -> list[Finding]:
    """Return a finding when teeth take more than the tables have for bit and material, and one when less.

    More is looked for in every motion in the wood. Less is a matter of the program's own feed: slopes,
    ramps, plunges and an even load make bits go slower, so the fastest twentieth of the way across is judged;
    of a drill the way down. Nothing is said where the material is not known.
    """
    material = circumstances.material
    trace, cutter = exhibit.trace, exhibit.cutter
    cutting = np.flatnonzero(
        (trace.motions == Motion.FEED) & (trace.lowest_mm < -DEPTH_ROUNDING_MM) & (trace.spindle_rpm > 0)
    )
    if material is None or not len(cutting):
        return []
    chips_mm = trace.feeds_mm_per_min[cutting] / (trace.spindle_rpm[cutting] * cutter.flutes_count)
    depth_mm = -float(trace.lowest_mm[cutting].min())
    low_mm, high_mm = chip_range_mm(material.family, cutter, depth_mm)
    found = []
    thickest = int(np.argmax(chips_mm))
    if chips_mm[thickest] > high_mm * _ROUNDING:
        found.append(
            _too_thick(exhibit, int(cutting[thickest]), float(chips_mm[thickest]), high_mm, material.family)
        )
    full = _at_full_feed(exhibit, cutting, chips_mm)
    if full is not None and chips_mm[full] < low_mm / _ROUNDING:
        motion, chip_mm = int(cutting[full]), float(chips_mm[full])
        found.append(_too_thin(exhibit, motion, chip_mm, low_mm, material.family, circumstances.machine))
    return found


def _at_full_feed(exhibit: Exhibit, cutting: NDArray[np.intp], chips_mm: Floats) -> int | None:
    """Return which of the cutting motions is run at the bit's own feed; None where it only plunges."""
    steps_mm = exhibit.trace.ends_mm[cutting] - exhibit.trace.starts_mm[cutting]
    across_mm = np.hypot(steps_mm[:, 0], steps_mm[:, 1])
    down = -steps_mm[:, 2] > _STEEP * across_mm
    lengths_mm = (
        np.where(down, -steps_mm[:, 2], 0.0)
        if isinstance(exhibit.cutter, Drill)
        else np.where(down, 0.0, across_mm)
    )
    if not lengths_mm.any():
        return None
    fastest_first = np.argsort(-chips_mm, kind="stable")
    way_mm = np.cumsum(lengths_mm[fastest_first])
    return int(fastest_first[np.searchsorted(way_mm, _FULL_SHARE * way_mm[-1])])


def _too_thick(exhibit: Exhibit, motion: int, chip_mm: float, high_mm: float, family: str) -> Finding:
    rpm, flutes = float(exhibit.trace.spindle_rpm[motion]), exhibit.cutter.flutes_count
    return Finding(
        code="chip-too-thick",
        severity=Severity.ERROR if chip_mm > _FAR_ABOVE * high_mm else Severity.WARNING,
        message=(
            f"{_taken(exhibit, motion, chip_mm)}, {chip_mm / high_mm:.1f} times the {high_mm:.3f} mm "
            f"that the tables end at for it in {family}"
        ),
        remedy=f"feed at {high_mm * rpm * flutes:.0f} mm/min or less, or turn faster: bits break",
        at_mm=exhibit.end_of(motion),
    )


def _too_thin(
    exhibit: Exhibit, motion: int, chip_mm: float, low_mm: float, family: str, machine: Machine
) -> Finding:
    rpm, feed = float(exhibit.trace.spindle_rpm[motion]), float(exhibit.trace.feeds_mm_per_min[motion])
    flutes = exhibit.cutter.flutes_count
    is_drill = isinstance(exhibit.cutter, Drill)
    limit = machine.max_plunge_mm_per_min if is_drill else machine.max_feed_mm_per_min
    forced = feed * _ROUNDING >= limit and rpm <= machine.min_spindle_rpm * _ROUNDING
    better = f"feed at {low_mm * rpm * flutes:.0f} mm/min or more, or turn slower"
    if forced:
        better = "mill the hole with a thinner end mill" if is_drill else "take a bit with fewer flutes"
    far = chip_mm < low_mm / _FAR_BELOW and not forced
    return Finding(
        code="chip-too-thin",
        severity=Severity.ERROR if far else Severity.WARNING,
        message=(
            f"{_taken(exhibit, motion, chip_mm)}, {chip_mm / low_mm:.0%} of the {low_mm:.3f} mm "
            f"that the tables begin at for it in {family}"
            + (f"; {machine.title} feeds no faster and turns no slower" if forced else "")
        ),
        remedy=f"{better}: what rubs gets hot and dull",
        at_mm=exhibit.end_of(motion),
    )


def _taken(exhibit: Exhibit, motion: int, chip_mm: float) -> str:
    feed, rpm = exhibit.trace.feeds_mm_per_min[motion], exhibit.trace.spindle_rpm[motion]
    return (
        f"{exhibit.line_of(motion)}: {feed:.0f} mm/min at {rpm:.0f} rpm, each tooth of {exhibit.cutter.name} "
        f"takes {chip_mm:.3f} mm"
    )
