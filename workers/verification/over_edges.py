"""What is over a bit's edges: its shank, the nut that holds it, the spindle; and what cuts high up."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from workers.cutting_data.feeds import deepest_pass_mm
from workers.simulation.sweeps import Collar
from workers.values.cutter import BallNose, Cutter, EndMill, VeeCutter
from workers.values.machine import Machine
from workers.values.material import Material
from workers.values.program import Motion, Trace
from workers.verification.tolerances import RAPID_MM, SHANK_ROOM_MM

Floats = NDArray[np.float32]


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """What of a bit is watched while it cuts: the parts over its edges, and its core."""

    parts: list[Collar]
    core: Collar | None

    @property
    def collars(self) -> list[Collar]:
        """All of it, as the simulation takes it."""
        return [*self.parts, *([self.core] if self.core else [])]

    def told_apart(self, touched_mm: Floats) -> tuple[Floats, Floats | None]:
        """Return what the parts (k, n) and the core (n) met, of what all collars did."""
        return touched_mm[: len(self.parts)], touched_mm[-1] if self.core else None


def watch_on(cutter: Cutter, machine: Machine, material: Material | None, cell_mm: float) -> Watch:
    """Return what is watched of a bit; round a shank there is a cell of room at least."""
    return Watch(
        parts=[
            part.collar(max(SHANK_ROOM_MM, cell_mm) if part.name == "shank" else 0.0)
            for part in parts_over(cutter, machine)
        ],
        core=core_of(cutter, material),
    )


def traverses_in_stock(trace: Trace) -> NDArray[np.bool_]:
    """Return which motions are traverses that come below the face."""
    below: NDArray[np.bool_] = (trace.motions == Motion.TRAVERSE) & (trace.lowest_mm < -RAPID_MM)
    return below


def core_of(cutter: Cutter, material: Material | None) -> Collar | None:
    """Return the middle of a bit, from as high over its tip as it may cut in one go; of drills nothing.

    Where that comes to standing wood the bit cuts deeper than it may. It is half as wide as the bit there,
    so that a round along a finished wall, which takes less than a quarter of that, is none of it.

    Args:
        cutter: Drills have their pecks, keyhole bits their slots.
        material: Of the board; None: nothing is said.
    """
    if material is None or not isinstance(cutter, EndMill | BallNose | VeeCutter):
        return None
    deepest_mm = deepest_pass_mm(cutter, material.family)
    radius_mm = cutter.diameter_mm / 2
    if isinstance(cutter, VeeCutter):
        slope = math.tan(math.radians(cutter.included_angle_deg) / 2)
        radius_mm = min(cutter.tip_mm / 2 + deepest_mm * slope, radius_mm)
    return Collar(deepest_mm, radius_mm / 2, cuts=True)


def parts_over(cutter: Cutter, machine: Machine) -> tuple[Part, ...]:
    """Return what is over the edges of a bit in a machine's spindle, the lowest first."""
    nut_mm = cutter.stick_out_mm
    return (
        Part("shank", cutter.cutting_length_mm, cutter.shank_mm),
        Part("nut", nut_mm, machine.nut_diameter_mm),
        Part("spindle", nut_mm + machine.nut_length_mm, machine.spindle_diameter_mm),
    )
