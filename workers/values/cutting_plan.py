"""What each bit does, in order: the planner's word to the writers of machine code."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen
from workers.values.cutter import Cutter
from workers.values.design import Board


class OperationKind(StrEnum):
    """What an operation is for; the order of the members is the order on the machine."""

    BACK = "back"  # the board turned over, back up; all others are run with its face up
    CLEAR = "clear"
    INCISE = "incise"
    DRILL = "drill"
    OPENING = "opening"
    CUTOUT = "cutout"


@dataclass(frozen=True, slots=True, eq=False)
class CutPath:
    """One unbroken cut: traverse above the first point, feed down to it, feed on, lift off.

    The bit's tip centre runs straight from point to point, each piece at its own feed. Instead of
    the pieces between two rows it may run an arc, level or evenly rising (a helix): whoever does
    not care for arcs leaves them aside.
    """

    points_mm: NDArray[np.float64]  # (n, 3) x, y, z in the board frame, of the back as it lies; n >= 1
    feeds_mm_per_min: NDArray[
        np.float64
    ]  # (n,): [0] the plunge to the first point, [i] the piece that ends at point i
    arc_rows: NDArray[np.int32] = field(default_factory=lambda: np.empty((0, 2), np.int32))
    # (m, 2) first and last point of each arc, in order, none overlapping; one feed all along
    arc_turns_rad: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))
    # (m,) how far each turns in the plane, positive anticlockwise, by less than half a circle
    dwell_s: float = 0.0  # that the bit stands at the last point before it is lifted off
    traverse_mm: float | None = None  # height over the face of the way to the first point; None: the plan's

    def __post_init__(self) -> None:
        object.__setattr__(self, "points_mm", frozen(self.points_mm, np.float64, 2, 3))
        object.__setattr__(self, "feeds_mm_per_min", frozen(self.feeds_mm_per_min, np.float64, 1))
        if len(self.points_mm) != len(self.feeds_mm_per_min) or not len(self.points_mm):
            raise ValueError("a cut path needs a feed for each of its points")
        if not (np.isfinite(self.points_mm).all() and (self.feeds_mm_per_min > 0).all()):
            raise ValueError("a cut path with a point or feed that is no number")
        if not 0 <= self.dwell_s < np.inf:
            raise ValueError("a dwell that is no time")
        if self.traverse_mm is not None and not 0 < self.traverse_mm < np.inf:
            raise ValueError("a way over the work that is not above its face")
        object.__setattr__(self, "arc_rows", frozen(self.arc_rows, np.int32, 2, 2))
        object.__setattr__(self, "arc_turns_rad", frozen(self.arc_turns_rad, np.float64, 1))
        bounds = self.arc_rows.ravel()
        turns_rad = np.abs(self.arc_turns_rad)
        if len(self.arc_turns_rad) != len(self.arc_rows) or not ((turns_rad > 0) & (turns_rad < np.pi)).all():
            raise ValueError("an arc of a cut path turns by less than half a circle")
        if len(bounds) and (
            bounds[0] < 0 or bounds[-1] >= len(self.points_mm) or (np.diff(bounds) < 0).any()
        ):
            raise ValueError("arcs of a cut path overlap or have no such points")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Operation:
    """All that one bit does for one purpose: one program."""

    kind: OperationKind
    cutter: Cutter
    spindle_rpm: float
    paths: tuple[CutPath, ...]

    def __post_init__(self) -> None:
        if not self.paths:
            raise ValueError("an operation that cuts nothing is none")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CuttingPlan:
    """The operations of one sign in the order in which they must run."""

    board: Board
    clearance_mm: float  # height over the face for traverses
    spin_up_s: float
    operations: tuple[Operation, ...]

    @property
    def bits(self) -> tuple[Cutter, ...]:
        """The different bits, in the order in which they are first used."""
        return tuple(dict.fromkeys(operation.cutter for operation in self.operations))

    @property
    def from_behind(self) -> tuple[Operation, ...]:
        """The operations that are run first, with the back up: each a program of its own."""
        return tuple(one for one in self.operations if one.kind is OperationKind.BACK)

    @property
    def face_up(self) -> CuttingPlan:
        """The plan without those."""
        rest = tuple(one for one in self.operations if one.kind is not OperationKind.BACK)
        return replace(self, operations=rest)

    @property
    def turns(self) -> tuple[tuple[Operation, ...], ...]:
        """The operations in order, those together that one bit does without a change."""
        return tuple(tuple(turn) for _, turn in groupby(self.operations, lambda operation: operation.cutter))
