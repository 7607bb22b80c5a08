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
    nut_diameter_mm: float = 24.0  # of the collet's nut, over the bit: a trim router's (memory)
    nut_length_mm: float = 16.0
    spindle_diameter_mm: float = 65.0  # of spindle or motor, over the nut
    jerk_mm_per_s3: float | None = None  # None: acceleration changes at once
