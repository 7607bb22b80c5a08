"""What each bit does, in order: the planner's word to the writers of machine code."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen
from workers.values.cutter import Cutter
from workers.values.design import Board


class OperationKind(StrEnum):
    """What an operation is for; the order of the members is the order on the machine."""

    CLEAR = "clear"
    INCISE = "incise"
    DRILL = "drill"
    CUTOUT = "cutout"


@dataclass(frozen=True, slots=True, eq=False)
class CutPath:
    """One unbroken cut: traverse above the first point, feed down to it, feed on, lift off.

    The bit's tip centre runs straight from point to point, each piece at its own feed.
    """

    points_mm: NDArray[np.float64]  # (n, 3) x, y, z in the board frame; n >= 1
    feeds_mm_per_min: NDArray[
        np.float64
    ]  # (n,): [0] the plunge to the first point, [i] the piece that ends at point i

    def __post_init__(self) -> None:
        object.__setattr__(self, "points_mm", frozen(self.points_mm, np.float64, 2, 3))
        object.__setattr__(self, "feeds_mm_per_min", frozen(self.feeds_mm_per_min, np.float64, 1))
        if len(self.points_mm) != len(self.feeds_mm_per_min) or not len(self.points_mm):
            raise ValueError("a cut path needs a feed for each of its points")
        if not (np.isfinite(self.points_mm).all() and (self.feeds_mm_per_min > 0).all()):
            raise ValueError("a cut path with a point or feed that is no number")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Operation:
    """All that one bit does for one purpose: one program."""

    kind: OperationKind
    cutter: Cutter
    spindle_rpm: float
    paths: tuple[CutPath, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CuttingPlan:
    """The operations of one sign in the order in which they must run."""

    board: Board
    clearance_mm: float  # height over the face for traverses
    spin_up_s: float
    operations: tuple[Operation, ...]
