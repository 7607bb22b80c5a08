"""Machine code, and what a reader makes of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import IntEnum
from itertools import pairwise
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen
from workers.values.cutter import Cutter


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """One file of RS-274: for one bit, or for several that it changes by their numbers (T and M6)."""

    name: str  # "01-incise-vee-90.ngc"
    text: str
    cutter: Cutter | None = None  # the only bit
    bits: Mapping[int, Cutter] = field(default_factory=lambda: MappingProxyType({}))  # by number, from 1
    from_behind: bool = False  # run with the board turned over, in the frame of its back as it lies

    def __post_init__(self) -> None:
        if (self.cutter is None) == (not self.bits):
            raise ValueError("a program has one bit, or bits by their numbers")


class Motion(IntEnum):
    """The motion verbs of the open standard's canonical functions, as codes for arrays."""

    TRAVERSE = 0
    FEED = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class BitChange:
    """A change of bit (M6): the bit that is in the spindle from a motion on."""

    motion: int  # the first that is made with it
    line: int  # of the text, from 1
    number: int | None  # the T word in force; 0: no bit; None: the program has said none
    spindle_rpm: float  # at which the spindle still turned
    height_mm: float | None  # of the bit that is taken out, over the face; None: not known
    dwell_s: float  # of the program until then


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthOffset:
    """From a motion on, the machine takes the length of the bit of a number (G43 H), or of none (G49)."""

    motion: int
    line: int
    number: int  # 0: none


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
    changes: tuple[BitChange, ...] = ()  # in order
    lengths: tuple[LengthOffset, ...] = ()  # in order

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

    def between_changes(self) -> tuple[Trace, ...]:
        """Return the motions before the first change of bit, and those after each; there may be none.

        Each has its own dwells; remarks, changes and length offsets stay with the whole.
        """
        motions = [0, *(change.motion for change in self.changes), len(self.lines)]
        dwells_s = [0.0, *(change.dwell_s for change in self.changes), self.dwell_s]
        return tuple(
            replace(
                self,
                **{name: getattr(self, name)[first:last] for name in _BY_MOTION},
                dwell_s=dwells_s[place + 1] - dwells_s[place],
                notes=(),
                changes=(),
                lengths=(),
            )
            for place, (first, last) in enumerate(pairwise(motions))
        )


_BY_MOTION = ("starts_mm", "ends_mm", "motions", "feeds_mm_per_min", "lines", "spindle_rpm")
