"""Depth on a grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class HeightField:
    """Depth below the face at the centres of square cells; row 0 has the lowest y."""

    depth_mm: NDArray[np.float32]  # (rows, columns), 0 = the face, larger = deeper
    cell_mm: float
    left_mm: float  # x of the left edge of column 0
    bottom_mm: float  # y of the lower edge of row 0

    def __post_init__(self) -> None:
        object.__setattr__(self, "depth_mm", frozen(self.depth_mm, np.float32, 2))
