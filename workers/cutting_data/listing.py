"""Entries of the tables as short rows for people."""

from __future__ import annotations

from dataclasses import dataclass

from workers.cutting_data.entries import FontEntry
from workers.values.cutter import Cutter, KeyholeCutter, VeeCutter
from workers.values.machine import Machine
from workers.values.material import Material

Entry = Cutter | Material | Machine | FontEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedRow:
    """One entry of a table, for people."""

    name: str
    title: str
    figures: str
    source: str  # title of the source, with its mark


def figures_of(entry: Entry) -> str:
    """Return an entry's figures in a line, each with its unit."""
    if isinstance(entry, Material):
        return (
            f"{entry.family}; shows from {entry.shows_depth_mm:g} mm deep, "
            f"walls from {entry.thinnest_wall_mm:g} mm"
        )
    if isinstance(entry, Machine):
        jerk = "" if entry.jerk_mm_per_s3 is None else f", jerk to {entry.jerk_mm_per_s3:g} mm/s3"
        return (
            f"{entry.travel_x_mm:g} x {entry.travel_y_mm:g} x {entry.travel_z_mm:g} mm, "
            f"feed to {entry.max_feed_mm_per_min:g} mm/min, "
            f"spindle {entry.min_spindle_rpm:g} to {entry.max_spindle_rpm:g} rpm, "
            f"nut {entry.nut_diameter_mm:g} mm wide and {entry.nut_length_mm:g} mm long{jerk}"
        )
    if isinstance(entry, FontEntry):
        return f"{entry.description} Licence {entry.licence}"
    return cutter_figures(entry)


def cutter_figures(cutter: Cutter) -> str:
    """Return a bit's figures in a line.

    >>> from workers.values.cutter import EndMill
    >>> cutter_figures(EndMill(name="f", diameter_mm=6, cutting_length_mm=25, flutes_count=2))
    '6 mm, cuts 25 mm deep, 2 flutes, 6 mm shank, stands out 31 mm'
    """
    shape = ""
    if isinstance(cutter, VeeCutter):
        shape = f"{cutter.included_angle_deg:g} deg, tip {cutter.tip_mm:g} mm, "
    elif isinstance(cutter, KeyholeCutter):
        shape = f"head {cutter.head_mm:.4g} mm high, neck {cutter.neck_mm:.4g} mm, "
    flutes = "1 flute" if cutter.flutes_count == 1 else f"{cutter.flutes_count} flutes"
    return (
        f"{cutter.diameter_mm:g} mm, {shape}cuts {cutter.cutting_length_mm:.4g} mm deep, {flutes}, "
        f"{cutter.shank_mm:g} mm shank, stands out {cutter.stick_out_mm:g} mm"
    )
