"""Material and machine: how a bit is run for an operation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workers.cutting_data.feeds import cutting_data
from workers.toolpaths.pace import Pace, pace_of
from workers.values.cutter import Cutter
from workers.values.cutting_plan import CutPath, Operation, OperationKind
from workers.values.machine import Machine
from workers.values.material import CuttingData, Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """What is cut, and on what."""

    material: Material
    machine: Machine

    def data(self, cutter: Cutter, kind: OperationKind) -> CuttingData:
        """Return speeds, pass depth and stepover of a bit."""
        return cutting_data(cutter, self.material, self.machine, kind)

    def pace(self, cutter: Cutter, kind: OperationKind) -> Pace:
        """Return the feeds of a bit."""
        return pace_of(self.data(cutter, kind), self.machine)

    def operation(self, kind: OperationKind, cutter: Cutter, paths: Sequence[CutPath]) -> Operation:
        """Return paths as an operation at the bit's spindle speed."""
        rpm = self.data(cutter, kind).spindle_rpm
        return Operation(kind=kind, cutter=cutter, spindle_rpm=rpm, paths=tuple(paths))
