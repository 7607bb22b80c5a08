"""Machine code, and what a reader makes of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen
from workers.values.cutter import Cutter


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """One file of RS-274 for one bit."""

    name: str  # "01-incise-vee-90.ngc"
    cutter: Cutter
    text: str


class Motion(IntEnum):
    """The motion verbs of the open standard's canonical functions, as codes for arrays."""

    TRAVERSE = 0
    FEED = 1


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Trace:
    """The straight motions a program says, arcs as chords; all arrays of one length n.

    The first motion starts where the machine stood: over the work origin at the
    height of the first motion's end, or on the face if that end is below it.
    """

    starts_mm: NDArray[np.float64]  # (n, 3)
    ends_mm: NDArray[np.float64]  # (n, 3)
    motions: NDArray[np.uint8]  # (n,) Motion codes
    feeds_mm_per_min: NDArray[np.float64]  # (n,) 0 for traverses
    lines: NDArray[np.int32]  # (n,) line of the text, from 1
    spindle_rpm: NDArray[np.float64]  # (n,) 0 while the spindle stands
    dwell_s: float  # all dwells together
    notes: tuple[tuple[int, str], ...] = ()  # (line, what a careful reader remarks)

    @property
    def lowest_mm(self) -> NDArray[np.float64]:
        """How low each motion gets, (n,): straight motions are lowest at an end."""
        lowest: NDArray[np.float64] = np.minimum(self.starts_mm[:, 2], self.ends_mm[:, 2])
        return lowest

    def __post_init__(self) -> None:
        for name, dtype, dimensions, columns in (
            ("starts_mm", np.float64, 2, 3),
            ("ends_mm", np.float64, 2, 3),
            ("motions", np.uint8, 1, None),
            ("feeds_mm_per_min", np.float64, 1, None),
            ("lines", np.int32, 1, None),
            ("spindle_rpm", np.float64, 1, None),
        ):
            object.__setattr__(self, name, frozen(getattr(self, name), dtype, dimensions, columns))
