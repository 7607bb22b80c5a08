"""How a bit is run: spindle speed, feed, plunge, pass depth and stepover.

Published figures differ by a factor of three to five; what comes out here is a
starting point for a light machine, and the set-up sheet says so.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from workers.cutting_data.rows import Row, inches, read_table
from workers.values.cutter import BallNose, Cutter, Drill, KeyholeCutter, VeeCutter
from workers.values.cutting_plan import OperationKind
from workers.values.frames import MM_PER_INCH
from workers.values.machine import Machine
from workers.values.material import CuttingData, Material

_TABLES = read_table("chip_loads.toml")
CHIP_LOADS: Mapping[str, Row] = MappingProxyType({row["name"]: row for row in _TABLES["family"]})
PRACTICE: Mapping[str, Row] = MappingProxyType({row["family"]: row for row in _TABLES["practice"]})
_SPEED_LIMITS = [(inches(row["diameter_in"]), float(row["spindle_rpm"])) for row in _TABLES["speed_limit"]]

# Between these diameters a light router's chip load grows from the lower end of its range to the upper
# (a choice: the published range names no diameters); below the first it shrinks with the diameter.
_CHIP_DIAMETERS_MM = (MM_PER_INCH / 16, MM_PER_INCH / 4)
_PLUNGE_FRACTION = 1 / 3  # of the feed; 20 to 50 % is usual (memory)
_DRILL_RPM = 12_000.0  # routers drill as slowly as they turn, or the hole burns (common practice)
_DEEPEST_PASSES = (
    3.0  # of the usual ones in one go: a mill in softwood is three diameters deep (common practice)
)
_PECK_FRACTION = 1.0  # of a drill's diameter between liftings (common practice)
_CAPTURED_FRACTION = 0.5  # of the usual chip: from under wood chips leave by the slot alone (a choice)
_RIDGE_MM = 0.02  # left between neighbouring passes of a round or pointed bit, before sanding (a choice)


def feed_mm_per_min(spindle_rpm: float, flutes_count: int, chip_load_mm: float) -> float:
    """Return the feed that gives each tooth its chip.

    Source: feed = speed x flutes x chip load (sources.toml, feed-formula).

    >>> feed_mm_per_min(18000, 2, 0.1)
    3600.0
    """
    return spindle_rpm * flutes_count * chip_load_mm


def surface_speed_m_per_min(diameter_mm: float, spindle_rpm: float) -> float:
    """Return how fast a bit's rim moves.

    Source: V = pi D n (F. D. Jones, Turning and Boring, 1914).

    >>> round(surface_speed_m_per_min(6.35, 18000), 3)
    359.084
    """
    return math.pi * diameter_mm * spindle_rpm / 1000


def spindle_limit_rpm(diameter_mm: float) -> float:
    """Return the fastest a bit of this diameter may turn.

    Source: sources.toml, speed-by-diameter; beyond 3 1/2 in the last rim speed is kept.
    """
    place = bisect_left(_SPEED_LIMITS, (diameter_mm, 0.0))
    if place < len(_SPEED_LIMITS):
        return _SPEED_LIMITS[place][1]
    largest_mm, slowest_rpm = _SPEED_LIMITS[-1]
    return slowest_rpm * largest_mm / diameter_mm


def effective_diameter_mm(cutter: Cutter, depth_mm: float) -> float:
    """Return how wide the bit cuts at this depth; a cone's own diameter bounds it.

    Source: trigonometry of the frustum, tip + 2 depth tan(angle / 2).
    """
    if not isinstance(cutter, VeeCutter):
        return cutter.diameter_mm
    opening_mm = 2 * depth_mm * math.tan(math.radians(cutter.included_angle_deg) / 2)
    return min(cutter.tip_mm + opening_mm, cutter.diameter_mm)


def chip_load_mm(family: str, diameter_mm: float) -> float:
    """Return what each tooth should take on a light router.

    Args:
        family: The material's family.
        diameter_mm: Of the bit where it cuts.

    Source: chip_loads.toml; never above the industrial figure for the diameter.
    """
    row = CHIP_LOADS[family]
    low_mm, high_mm = (inch * MM_PER_INCH for inch in row["light_in"])
    light_mm = float(np.interp(diameter_mm, _CHIP_DIAMETERS_MM, (low_mm, high_mm)))
    light_mm *= min(1.0, diameter_mm / _CHIP_DIAMETERS_MM[0])
    sizes_mm = [inches(size) for size in row["diameters_in"]]
    highest_mm = [high * MM_PER_INCH for _, high in row["diameters_in"].values()]
    return min(light_mm, float(np.interp(diameter_mm, sizes_mm, highest_mm)))


def chip_range_mm(family: str, cutter: Cutter, depth_mm: float) -> tuple[float, float]:
    """Return the least and the most that a tooth takes by the tables.

    The least is what light routers begin at, the most what industrial ones end at; both shrink with a bit
    below the thinnest of their table. A V-bit takes its least where it cuts, and bears the most as a whole.

    Args:
        family: The material's family.
        cutter: The bit.
        depth_mm: How deep it cuts at most.

    Source: chip_loads.toml.
    """
    row = CHIP_LOADS[family]
    thinnest_mm = effective_diameter_mm(cutter, depth_mm)
    low_mm = row["light_in"][0] * MM_PER_INCH * min(1.0, thinnest_mm / _CHIP_DIAMETERS_MM[0])
    sizes_mm = [inches(size) for size in row["diameters_in"]]
    highest_mm = [high * MM_PER_INCH for _, high in row["diameters_in"].values()]
    high_mm = float(np.interp(cutter.diameter_mm, sizes_mm, highest_mm))
    return low_mm, high_mm * min(1.0, cutter.diameter_mm / sizes_mm[0])


def cutting_data(cutter: Cutter, material: Material, machine: Machine, kind: OperationKind) -> CuttingData:
    """Return how to run a bit in a material on a machine.

    Where the machine cannot feed fast enough, the spindle is slowed as far as it
    goes, so that the bit still cuts chips and does not rub.

    Args:
        cutter: The bit.
        material: The board.
        machine: Its limits clamp everything.
        kind: What the bit is to do; only drilling with a drill differs.
    """
    practice = PRACTICE[material.family]
    drilling = isinstance(cutter, Drill) and kind is OperationKind.DRILL
    pass_mm = _pass_depth_mm(cutter, practice)
    chip_mm = chip_load_mm(material.family, effective_diameter_mm(cutter, pass_mm))
    if isinstance(cutter, KeyholeCutter):
        chip_mm = max(_CAPTURED_FRACTION * chip_mm, chip_range_mm(material.family, cutter, pass_mm)[0])
    fastest_mm_per_min = machine.max_plunge_mm_per_min if drilling else machine.max_feed_mm_per_min
    wanted_rpm = _DRILL_RPM if drilling else float(practice["spindle_rpm"])
    rpm = min(wanted_rpm, fastest_mm_per_min / (cutter.flutes_count * chip_mm))
    rpm = min(
        max(rpm, machine.min_spindle_rpm), machine.max_spindle_rpm, spindle_limit_rpm(cutter.diameter_mm)
    )
    rpm = float(round(rpm, -2))
    feed = min(feed_mm_per_min(rpm, cutter.flutes_count, chip_mm), fastest_mm_per_min)
    plunge = feed if drilling else min(feed * _PLUNGE_FRACTION, machine.max_plunge_mm_per_min)
    return CuttingData(
        spindle_rpm=rpm,
        feed_mm_per_min=_rounded(feed),
        plunge_mm_per_min=_rounded(plunge),
        pass_depth_mm=pass_mm,
        stepover_fraction=_stepover_fraction(cutter, practice),
    )


def _pass_depth_mm(cutter: Cutter, practice: Row) -> float:
    if isinstance(cutter, VeeCutter):
        wanted_mm = float(practice["vee_pass_mm"])
    elif isinstance(cutter, Drill):
        return peck_depth_mm(cutter)
    else:
        wanted_mm = min(practice["pass_fraction"] * cutter.diameter_mm, float(practice["deepest_pass_mm"]))
    return min(wanted_mm, cutter.cutting_length_mm)


def deepest_pass_mm(cutter: Cutter, family: str) -> float:
    """Return how deep a mill or V-bit may cut in one go before it is likely to bend, burn or break.

    Three times the single pass that the tables begin at; less than the three to four diameters at which
    chips find no way out of a slot.

    Args:
        cutter: A mill or a V-bit.
        family: The material's.

    Source: chip_loads.toml for the usual pass; the factor is common practice.
    """
    return _DEEPEST_PASSES * usual_pass_mm(cutter, family)


def usual_pass_mm(cutter: Cutter, family: str) -> float:
    """Return the depth of a single pass that the tables begin at; of a drill, its peck.

    Source: chip_loads.toml.
    """
    return _pass_depth_mm(cutter, PRACTICE[family])


def peck_depth_mm(drill: Drill) -> float:
    """Return how deep a drill goes before it is lifted out of the hole, where no order says."""
    return min(_PECK_FRACTION * drill.diameter_mm, drill.cutting_length_mm)


def _stepover_fraction(cutter: Cutter, practice: Row) -> float:
    """Flat bits overlap by the trade's share; others so that the ridge between passes stays low."""
    if isinstance(cutter, VeeCutter):
        slope = math.tan(math.radians(cutter.included_angle_deg) / 2)
        return (cutter.tip_mm + 2 * slope * _RIDGE_MM) / cutter.diameter_mm
    if isinstance(cutter, BallNose):
        radius_mm = cutter.diameter_mm / 2
        return 2 * math.sqrt(2 * radius_mm * _RIDGE_MM - _RIDGE_MM**2) / cutter.diameter_mm
    return float(practice["stepover_fraction"])


def _rounded(feed: float) -> float:
    """Ten mm/min is as fine as anybody sets a feed; never rounded to nothing."""
    return max(10.0, float(math.floor(feed / 10 + 1e-9) * 10))
