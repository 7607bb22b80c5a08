"""What comes after a bit's edges: its shank, the collet's nut and the spindle, and how wide they are."""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.cutter import Cutter
from workers.values.machine import Machine


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """One of them: a cylinder that begins at a height over the tip."""

    title: str
    over_tip_mm: float
    radius_mm: float
    lifted_by_stick_out: bool  # a bit that stands out farther lifts it


def holdings_of(cutter: Cutter, machine: Machine) -> tuple[Holding, ...]:
    """Return shank, nut and spindle, the lowest first.

    Args:
        cutter: Its shank, the length of its edges and how far it stands out of the nut.
        machine: The nut's size and the spindle's.
    """
    nut_mm = cutter.stick_out_mm
    return (
        Holding(
            title="shank",
            over_tip_mm=cutter.cutting_length_mm,
            radius_mm=cutter.shank_mm / 2,
            lifted_by_stick_out=False,
        ),
        Holding(
            title="nut",
            over_tip_mm=nut_mm,
            radius_mm=machine.nut_diameter_mm / 2,
            lifted_by_stick_out=True,
        ),
        Holding(
            title="spindle",
            over_tip_mm=nut_mm + machine.nut_length_mm,
            radius_mm=machine.spindle_diameter_mm / 2,
            lifted_by_stick_out=True,
        ),
    )


def widest_below_mm(cutter: Cutter, machine: Machine, over_tip_mm: float) -> float:
    """Return the greatest radius of bit, shank, nut and spindle below a height over the tip."""
    within = [part.radius_mm for part in holdings_of(cutter, machine) if part.over_tip_mm < over_tip_mm]
    return max([cutter.diameter_mm / 2, *within])
