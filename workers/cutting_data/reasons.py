"""Why a bit is run as it is: the chip of each tooth beside what is usual, and what held it back."""

from __future__ import annotations

from dataclasses import dataclass

from workers.cutting_data.feeds import CHIP_LOADS, PRACTICE
from workers.values.cutter import Cutter, Drill
from workers.values.frames import MM_PER_INCH
from workers.values.machine import Machine
from workers.values.material import Material


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedReasons:
    """What stands behind a speed and a feed."""

    chip_mm: float  # that each tooth takes at the fastest feed
    usual_chip_mm: tuple[float, float]  # on light routers in this family of materials
    feed_held: bool  # the machine feeds no faster
    slowed_from_rpm: float | None  # the usual speed of the material, where it was not taken
    drilling: bool  # a drill turns as slowly as the spindle goes, or the hole burns


def speed_reasons(
    cutter: Cutter, material: Material, machine: Machine, spindle_rpm: float, feed_mm_per_min: float
) -> SpeedReasons:
    """Return the reasons for a program's speed and fastest feed.

    Args:
        cutter: The bit.
        material: The board.
        machine: Its limits.
        spindle_rpm: Of the program.
        feed_mm_per_min: The fastest of the program.

    Source: chip = feed / (speed x flutes) (sources.toml, feed-formula); ranges of chip_loads.toml.
    """
    usual_rpm = float(PRACTICE[material.family]["spindle_rpm"])
    low_in, high_in = CHIP_LOADS[material.family]["light_in"]
    return SpeedReasons(
        chip_mm=feed_mm_per_min / (spindle_rpm * cutter.flutes_count) if spindle_rpm else 0.0,
        usual_chip_mm=(low_in * MM_PER_INCH, high_in * MM_PER_INCH),
        feed_held=feed_mm_per_min >= machine.max_feed_mm_per_min,
        slowed_from_rpm=usual_rpm if spindle_rpm < usual_rpm else None,
        drilling=isinstance(cutter, Drill),
    )
