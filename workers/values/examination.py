"""What each stroke and each wall between strokes will be like once cut."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen


class Verdict(StrEnum):
    """Of a stroke: shows, faint, lost. Of a wall: stands, fragile, gone."""

    SHOWS = "shows"
    FAINT = "faint"  # shallower than the material shows
    LOST = "lost"  # thinner than the bit's tip can cut
    STANDS = "stands"
    FRAGILE = "fragile"  # thinner than the material holds
    GONE = "gone"  # nothing left at the face


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Judged:
    """One run of centre line with one verdict."""

    verdict: Verdict
    width_mm: float  # median width along it
    narrowest_mm: float
    length_mm: float
    at_mm: tuple[float, float]  # middle of the run
    line_mm: NDArray[np.float64]  # (n, 2)
    repaired: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "line_mm", frozen(self.line_mm, np.float64, 2, 2))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Examination:
    """All strokes and walls of a region for one bit, depth limit and material."""

    strokes: tuple[Judged, ...]
    walls: tuple[Judged, ...]
