"""What the gates look at: each program as read and as it acted on the stock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from workers.values.cuts import CutoutCut, DrillCut, InciseCut
from workers.values.cutter import Cutter
from workers.values.design import Board
from workers.values.keep_out import KeepOut
from workers.values.machine import Machine
from workers.values.program import Program, Trace


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Exhibit:
    """What one bit does in a program that could be read, after it was cut in simulation."""

    program: Program
    trace: Trace
    removed_mm: NDArray[np.float32]  # (n,) what each traverse below the face took off the stock
    cut_cells: bool  # whether it took anything off
    freed_fraction: float  # how much of the outline was cut through once it was done

    @property
    def cutter(self) -> Cutter:
        """The bit that cuts."""
        return self.program.cutter

    def line_of(self, motion: int) -> str:
        """Return where in the program a motion is said: its name and line."""
        return f"{self.program.name}, line {self.trace.lines[motion]}"

    def end_of(self, motion: int) -> tuple[float, float]:
        """Return where on the board a motion ends, to a micrometre."""
        x_mm, y_mm, _ = self.trace.ends_mm[motion]
        return round(float(x_mm), 3), round(float(y_mm), 3)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Circumstances:
    """The board, the machine and what was ordered."""

    board: Board
    outline: Polygon
    machine: Machine
    incise: InciseCut | None
    cutout: CutoutCut | None
    drill: DrillCut | None = None
    keep_outs: tuple[KeepOut, ...] = ()
