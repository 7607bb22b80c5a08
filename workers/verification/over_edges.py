"""What is over a bit's edges: its shank, the nut that holds it, and the spindle."""

from __future__ import annotations

from typing import NamedTuple

from workers.simulation.sweeps import Collar
from workers.values.cutter import Cutter
from workers.values.machine import Machine


class Part(NamedTuple):
    """One of them, round, from a height over the tip upwards."""

    name: str
    over_tip_mm: float
    diameter_mm: float

    def __str__(self) -> str:
        return f"{self.name}, {self.diameter_mm:g} mm thick, {self.over_tip_mm:.4g} mm over the tip"

    def collar(self, clearance_mm: float) -> Collar:
        """Return it as the simulation sweeps it, with so much room all round."""
        return Collar(self.over_tip_mm, self.diameter_mm / 2 + clearance_mm)


def parts_over(cutter: Cutter, machine: Machine) -> tuple[Part, ...]:
    """Return what is over the edges of a bit in a machine's spindle, the lowest first."""
    nut_mm = cutter.stick_out_mm
    return (
        Part("shank", cutter.cutting_length_mm, cutter.shank_mm),
        Part("nut", nut_mm, machine.nut_diameter_mm),
        Part("spindle", nut_mm + machine.nut_length_mm, machine.spindle_diameter_mm),
    )
