"""The router itself."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A 3-axis router: what it reaches and how fast it moves."""

    name: str
    title: str
    travel_x_mm: float
    travel_y_mm: float
    travel_z_mm: float
    max_feed_mm_per_min: float  # x and y
    max_plunge_mm_per_min: float  # z
    traverse_mm_per_min: float  # rapid, x and y
    traverse_z_mm_per_min: float
    acceleration_mm_per_s2: float
    junction_deviation_mm: float  # how far a corner may be rounded when its speed is planned
    min_spindle_rpm: float
    max_spindle_rpm: float
    spindle_commanded: bool  # False: a dial sets the speed, the program only says it
    clearance_mm: float  # height over the face for traverses
    spin_up_s: float  # dwell after the spindle starts
