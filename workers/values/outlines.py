"""Closed curves round ink, as traced or read from a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Outlines:
    """Closed loops of cubic Bezier pieces, in mm, y up from the sheet's lower left; filled even-odd.

    Each loop is an array (n, 4, 2) of control points; a piece starts where the one
    before it ends, the first where the last ends. Straight pieces have their
    inner control points at the thirds.
    """

    loops: tuple[NDArray[np.float64], ...]
    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "loops", tuple(frozen(loop, np.float64, 3, 2) for loop in self.loops))


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """Outlines, and what a tracer tells of its work: counts and choices by name, for the report."""

    outlines: Outlines
    record: Mapping[str, float | int | bool]
