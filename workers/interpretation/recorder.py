"""Collects motions while a program is read, and makes the trace of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from workers.interpretation.fault import Fault
from workers.interpretation.limits import MOST_CHANGES
from workers.values.program import BitChange, LengthOffset, Motion, Trace

Point = list[float]
MOST_MOTIONS = 3_000_000  # far beyond any sign; guards the memory of whoever reads a hostile program


class Recorder:
    """Arrays of motions that grow; the start of each is the end of the one before, unless said otherwise.

    ``ends_mm``, ``motions``, ``feeds_mm_per_min``, ``lines`` and ``spindle_rpm`` are filled
    up to ``count``; whoever writes into them directly reserves room first.
    """

    def __init__(self, room: int) -> None:
        self.count = 0
        self.dwell_s = 0.0
        self.ends_mm = np.empty((room, 3))
        self.motions = np.empty(room, np.uint8)
        self.feeds_mm_per_min = np.empty(room)
        self.lines = np.empty(room, np.int32)
        self.spindle_rpm = np.empty(room)
        self._fresh_starts: dict[int, tuple[float, float, float]] = {}
        self._notes: dict[str, int] = {}
        self._changes: list[BitChange] = []
        self._lengths: list[LengthOffset] = []

    @property
    def at_change(self) -> bool:
        """Say whether a bit was changed and nothing has moved since."""
        return bool(self._changes) and self._changes[-1].motion == self.count

    def reserve(self, more: int) -> None:
        """Make room for so many more motions."""
        room = len(self.motions)
        if self.count + more <= room:
            return
        if self.count + more > MOST_MOTIONS:
            raise Fault(f"more than {MOST_MOTIONS} motions so far", "split the program")
        room = max(self.count + more, 2 * room)
        for name in ("ends_mm", "motions", "feeds_mm_per_min", "lines", "spindle_rpm"):
            old = getattr(self, name)
            new = np.empty((room, *old.shape[1:]), old.dtype)
            new[: self.count] = old[: self.count]
            setattr(self, name, new)

    def start_afresh(self, point_mm: Point) -> None:
        """Let the next motion start at a point of its own."""
        x, y, z = point_mm
        self._fresh_starts[self.count] = (x, y, z)

    def move(
        self, ends_mm: NDArray[np.float64] | Point, motion: Motion, feed: float, line: int, spindle_rpm: float
    ) -> None:
        """Add one motion, or the chords of an arc.

        Args:
            ends_mm: One point, or an array (n, 3) of them.
            motion: Traverse or feed.
            feed: Speed in mm a minute, 0 for traverses.
            line: Line of the text, from 1.
            spindle_rpm: 0 while the spindle stands.
        """
        single = not isinstance(ends_mm, np.ndarray)
        more = 1 if single else len(ends_mm)
        self.reserve(more)
        added = self.count if single else slice(self.count, self.count + more)
        self.ends_mm[added] = ends_mm
        self.motions[added] = motion
        self.feeds_mm_per_min[added] = feed
        self.lines[added] = line
        self.spindle_rpm[added] = spindle_rpm
        self.count += more

    def change_bit(self, line: int, number: int | None, spindle_rpm: float, height_mm: float | None) -> None:
        """Let the next motions be made with another bit; the arguments are those of the value."""
        _refuse_more(self._changes, "changes of bit")
        self._changes.append(
            BitChange(
                motion=self.count,
                line=line,
                number=number,
                spindle_rpm=spindle_rpm,
                height_mm=height_mm,
                dwell_s=self.dwell_s,
            )
        )

    def take_length(self, line: int, number: int) -> None:
        """Let the next motions be made with the length of the bit of a number; 0: of none."""
        if number == (self._lengths[-1].number if self._lengths else 0):
            return
        _refuse_more(self._lengths, "changes of length offset")
        self._lengths.append(LengthOffset(motion=self.count, line=line, number=number))

    def note(self, line: int, text: str) -> None:
        """Keep a remark; the same remark again is kept once, with its first line."""
        self._notes.setdefault(text, line)

    def trace(self) -> Trace:
        """Return everything recorded."""
        kept = slice(0, self.count)
        starts_mm = np.empty((self.count, 3))
        starts_mm[1:] = self.ends_mm[: max(self.count - 1, 0)]
        for index, start in self._fresh_starts.items():
            if index < self.count:
                starts_mm[index] = start
        return Trace(
            starts_mm=starts_mm,
            ends_mm=self.ends_mm[kept].copy(),
            motions=self.motions[kept].copy(),
            feeds_mm_per_min=self.feeds_mm_per_min[kept].copy(),
            lines=self.lines[kept].copy(),
            spindle_rpm=self.spindle_rpm[kept].copy(),
            dwell_s=self.dwell_s,
            notes=tuple((line, text) for text, line in self._notes.items()),
            changes=tuple(self._changes),
            lengths=tuple(self._lengths),
        )


def _refuse_more(kept: Sequence[object], what: str) -> None:
    if len(kept) == MOST_CHANGES:
        raise Fault(f"more than {MOST_CHANGES} {what}", "split the program")
