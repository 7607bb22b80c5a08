"""What programs shall make, on what: the words between a sweep and its second opinion."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.cuts import CutoutCut, InciseCut
from workers.values.cutter import Cutter
from workers.values.design import Design
from workers.values.keep_out import KeepOut
from workers.values.machine import Machine

Floats = NDArray[np.float64]

ROUNDING_MM = 0.012  # of heights
WALL_MM = 0.15  # beside an upright wall nothing is said of the depth


@dataclass(frozen=True)
class Ordered:
    """What the programs shall make, and on what."""

    design: Design
    machine: Machine
    incise: InciseCut
    cutout: CutoutCut | None
    openings_bit: Cutter | None
    keep_outs: Sequence[KeepOut]
    tolerance_mm: float
